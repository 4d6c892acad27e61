import { defineKind, tie } from '../kind.js';
import { Exposure } from './exposure.js';
import { exposureContradictions } from './exposure-contradictions.js';

/** Codes hold no colon, so that no two exposures share a key. */
export const exposureKey = ({
  specimen,
  piece,
  exposure: number,
}: Pick<Exposure, 'specimen' | 'piece' | 'exposure'>): string =>
  [specimen, ...(piece === undefined ? [] : [piece]), number].join(':');

export const exposure = defineKind<Exposure>({
  kind: 'exposure',
  numbering: 'running',
  purpose:
    'One piece of a specimen in one medium, from when to when, under which conditions, and what was weighed and measured.',
  schema: Exposure,
  key: exposureKey,
  name: (document) => `${document.specimen} in ${document.medium.medium} from ${document.from}`,
  links: (document) => [
    tie('measured on', document.specimenIs, document.specimen, 'specimen'),
    tie('in medium', 'test-medium', document.medium.medium, 'medium', { revision: document.medium.revision }),
    tie('in batch', 'consumable', document.batch, 'batch'),
    tie('by method', 'method', document.protocol.method, 'protocol', { revision: document.protocol.revision }),
    ...(document.sterilisedIn === undefined
      ? []
      : [tie('sterilised in', 'process-load', document.sterilisedIn, 'sterilisedIn')]),
    ...document.instruments.map((code, index) => tie('measured with', 'instrument', code, `instruments[${index}]`)),
    tie('tested by', 'person', document.analyst, 'analyst'),
    ...(document.enteredBy === undefined ? [] : [tie('values entered by', 'person', document.enteredBy, 'enteredBy')]),
    ...(document.checkedBy === undefined ? [] : [tie('values checked by', 'person', document.checkedBy, 'checkedBy')]),
  ],
  contradictions: exposureContradictions,
  files: ({ evidence }) =>
    evidence === undefined ? [] : [{ path: evidence.file, field: 'evidence.file', name: 'results' }],
});
