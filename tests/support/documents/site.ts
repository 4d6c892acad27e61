import type { Cell } from '../cell.js';
import { AFTER_RELEASE_DOCUMENTS, AFTER_RELEASE_FILES } from './after-release.js';
import { CASE_DOCUMENTS, CASE_FILES } from './cases.js';
import { DEGRADATION_DOCUMENTS, DEGRADATION_FILES } from './degradation.js';
import { DESIGN_DOCUMENTS, DESIGN_FILES } from './design-history.js';

/** A document of each kind of the site that `makeCell` has none of, and the files that they name. */
export const SITE_DOCUMENTS: Cell['documents'] = {
  ...CASE_DOCUMENTS,
  ...DEGRADATION_DOCUMENTS,
  ...AFTER_RELEASE_DOCUMENTS,
  ...DESIGN_DOCUMENTS,
  'site/profiles/zinc.yaml': {
    ...{
      kind: 'certificate-profile',
      format: 1,
      profile: 'ZN-LAB',
      revision: 1,
      title: 'Zinc certificates (invented)',
    },
    ...{
      xml: { row: '/Certificate/Element' },
      decimal: 'point',
      identity: [{ column: '/Certificate/@no', is: 'certificate' }],
    },
    columns: { property: '@symbol', value: '.', unit: '@unit' },
    properties: [{ name: 'Zn', property: 'Zn', unit: '%', ucum: '%', need: 'always' }],
  },
  'site/profiles/rig.yaml': {
    ...{ kind: 'instrument-profile', format: 1, profile: 'RIG', revision: 1, title: 'Tensile rig (invented)' },
    ...{ delimiter: 'semicolon', decimal: 'comma', time: { form: 'ISO' } },
    tables: [
      {
        headerLines: 0,
        columns: [
          { column: 'specimen', is: 'specimen' },
          { column: 'time', is: 'measuredAt' },
        ],
        values: [{ column: 'strength', characteristic: 'rm', ucum: 'MPa' }],
        constants: { instrument: 'I-RIG', analyst: 'P-AN', method: { method: 'TM-T', revision: 1 } },
      },
    ],
  },
};
export const SITE_FILES: Cell['files'] = {
  ...CASE_FILES,
  ...DEGRADATION_FILES,
  ...AFTER_RELEASE_FILES,
  ...DESIGN_FILES,
};
