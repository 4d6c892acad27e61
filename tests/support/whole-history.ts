import type { DesignFacts, DesignRevision, StudiedLot, StudiedValue } from '../../src/design-history/design-facts.js';
import { digestOf } from '../../src/dossier/canonical.js';
import { kindNamed } from '../../src/kinds/catalogue.js';
import { commonFields } from '../../src/kinds/common-fields.js';
import { SIMULATION } from '../../src/kinds/degradation/simulation.js';
import { type Cell, makeCell } from './cell.js';
import { DESIGN_DOCUMENTS, DESIGN_FILES, ENVELOPE } from './documents/design-history.js';

/** A revision before it is read by its schema: tests spoil it at any depth. */
export interface Draft {
  // biome-ignore lint/suspicious/noExplicitAny: tests spoil documents at any depth
  body: any;
  authors: string[];
  approvedBy: string | null;
  approvedAt: string | null;
  withdrawn: boolean;
  recordedAt: string;
}

export interface History {
  today: string;
  readonly drafts: Map<string, Draft>;
  readonly lots: Map<string, StudiedLot & { values: StudiedValue[] }>;
  readonly lotOfPart: Map<string, string>;
}

export const draftOf = (body: Draft['body']): Draft => ({
  body,
  authors: ['P-AN'],
  approvedBy: 'P-QE',
  approvedAt: '2030-12-02T09:00:00.000Z',
  withdrawn: false,
  recordedAt: '2030-12-02T08:00:00.000Z',
});

/** The cell with design documents, completed until no rule finds anything. They stand beside the site, and come in with the lots. */
export function addDesignHistory({ documents, files }: Cell): void {
  for (const [path, document] of Object.entries(DESIGN_DOCUMENTS)) {
    if (['gap-answer', 'baseline', 'software'].includes(document.kind)) continue;
    documents[path.replace('site/', '')] = structuredClone(document);
  }
  for (const [path, text] of Object.entries(DESIGN_FILES)) files[path.replace('site/', '')] = text;
  const of = (kind: string) => Object.values(documents).find((document) => document.kind === kind)!;
  of('design-plan').stages = [{ stage: 'freeze', due: '2030-12-01' }];
  of('design-input').characteristics = of('specification').characteristics.map(
    ({ characteristic }: { characteristic: string }) => characteristic,
  );
  of('design-study').rationale = [
    'Six earlier builds had a spread of 6 MPa, so that ten coupons show a reliability of 0.95 with a confidence of 0.95;',
    'the longest plate is the weakest of all (invented).',
  ].join('\n');
  // One coupon was pulled twice: no share of all units is claimed.
  Object.assign(of('design-study'), { n: 2, technique: 'each value' });
  for (const field of ['confidence', 'reliability']) delete of('design-study').criterion[field];
  of('design-review').independent = 'P-QE';
  of('supplier').approvals = [{ scope: 'mg-powder', from: '2029-01-01', to: '2033-12-31', basis: 'audit (invented)' }];
  of('specification').materials = [{ material: 'mg-powder', property: 'Zn', ucum: '%', upper: '2' }];
  of('process-validation').validUntil = '2034-01-01T00:00:00Z';
  documents['design/envelope.yaml'] = structuredClone(ENVELOPE);
}

const OF_DESIGN =
  /^(design-|user-need|hazard|risk-control|labelling|family|machine|process-val|recipe|spec|method|supplier)/;

const RM: StudiedValue[] = ['231.5', '232.0'].map((value, index) => ({
  ...{ characteristic: 'rm', specimen: 'L-1-W1', piece: 'L-1-W1', replicate: String(index + 1), value, ucum: 'MPa' },
}));

/** The same as rules see it, each document under its kind. */
export function wholeHistory(): History {
  const cell = makeCell();
  addDesignHistory(cell);
  const drafts = new Map<string, Draft>();
  for (const [path, body] of Object.entries(cell.documents)) {
    if (OF_DESIGN.test(body.kind)) drafts.set(drafts.has(body.kind) ? path : body.kind, draftOf(body));
  }
  return {
    today: '2031-03-01',
    drafts,
    lots: new Map([['L-1', { family: 'PLATE', values: [...RM] }]]),
    lotOfPart: new Map([['L-1-W1', 'L-1']]),
  };
}

/** What rules look at: each document as its schema reads it. */
export function factsOf({ today, drafts, lots, lotOfPart }: History): DesignFacts {
  const revisions = [...drafts.values()].map(({ body: given, ...standing }): DesignRevision => {
    const kind = kindNamed(given.kind)!;
    const body = kind.schema.parse(given);
    return {
      kind: kind.kind,
      key: kind.key(body),
      revision: commonFields(body).revision ?? 1,
      name: kind.name(body),
      digest: digestOf(body),
      body,
      ...standing,
    };
  });
  return { family: 'PLATE', today, revisions, statements: [], lots, lotOfPart, simulation: SIMULATION };
}
