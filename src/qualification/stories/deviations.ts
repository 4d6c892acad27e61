import { type Document, PEOPLE } from '../names.js';
import { couponOf, serialOf } from './lots.js';
import { done } from './steps.js';
import { FIRST, SECOND } from './three-lots.js';

/** Digests of the findings that values miss their limits, by characteristic and implant: what a nonconformity names. */
export type FindingOf = (characteristic: string, unit: string) => string;

/** Cleaned again by the instruction, alone, and dried. */
const REWORK = { parts: [serialOf(FIRST, 2)], instruction: { instruction: 'RW-31', revision: 1 } };
export const reworkSteps: Document[] = [
  done('clean', '2026-10-08T07:00:00Z', REWORK),
  done('dry', '2026-10-08T08:00:00Z', REWORK),
];

const REWORK_REPORT = 'NC-31-1';
const CONCESSION_REPORT = 'NC-31-2';

/** As they were opened and evaluated, and once all was done, closed. */
export function nonconformities(findingOf: FindingOf, isClosed = false): Record<string, Document> {
  const report = (
    code: string,
    characteristic: string,
    unit: string,
    says: string,
    cause: string,
    disposition: Document,
  ): Document => ({
    kind: 'nonconformity',
    format: 1,
    nonconformity: code,
    opened: { by: PEOPLE.process, at: '2026-10-07T09:00:00Z' },
    sort: 'value',
    says,
    findings: [findingOf(characteristic, unit)],
    touches: [{ kind: 'implant', key: unit }],
    evaluation: { cause, riskFile: 'no', by: PEOPLE.quality, at: '2026-10-07T09:30:00Z' },
    disposition: [{ units: [unit], ...disposition }],
    ...(isClosed
      ? { closure: { by: PEOPLE.quality, at: '2026-10-08T15:00:00Z', says: 'done as it was decided (fictional)' } }
      : {}),
  });
  return {
    [`nonconformities/${REWORK_REPORT}.yaml`]: report(
      REWORK_REPORT,
      'sa',
      serialOf(FIRST, 2),
      'The upper contour of one plate is rougher than it may be.',
      'residue of the bath, seen under the microscope (fictional)',
      { as: 'rework', justification: 'cleaning takes the residue away and leaves the coating (fictional)' },
    ),
    [`nonconformities/${CONCESSION_REPORT}.yaml`]: report(
      CONCESSION_REPORT,
      'thickness',
      serialOf(FIRST, 3),
      'One plate is thicker than it may be.',
      'milling tool near the end of its life (fictional)',
      {
        as: 'concession',
        clause: 'CP-DRG-2, note 3: up to 1.58 mm on this site (fictional)',
        justification: 'a thicker plate bears more, and the site has room for it (fictional)',
      },
    ),
  };
}

export const instruction: Document = {
  kind: 'rework-instruction',
  format: 1,
  instruction: 'RW-31',
  revision: 1,
  title: 'Clean a coated plate again (fictional)',
  nonconformity: REWORK_REPORT,
  steps: [
    { step: 'clean', how: 'fresh bath, two minutes (fictional)' },
    { step: 'dry', how: 'as the first time (fictional)' },
  ],
  disturbs: ['sa'],
  repeat: ['sa'],
  timesAtMost: 1,
  sideEffects: 'takes less than 0.1 µm of the coating (fictional)',
  effectiveFrom: '2026-10-07T09:00:00Z',
};

/** Tools are changed earlier, and four weeks later it is seen that this helps. */
export const correctiveAction = (isDone: boolean): Document => ({
  kind: 'corrective-action',
  format: 1,
  action: 'CA-31',
  opened: { by: PEOPLE.quality, at: '2026-10-08T15:00:00Z' },
  triggers: [{ kind: 'nonconformity', key: CONCESSION_REPORT }],
  cause: 'nobody counted for how long a milling tool had been in use (fictional)',
  steps: [
    {
      what: 'count the hours of each tool, and change it after forty (fictional)',
      by: PEOPLE.process,
      dueOn: '2026-10-20',
      ...(isDone ? { doneOn: '2026-10-19' } : {}),
    },
  ],
  dueOn: '2026-11-16',
  ...(isDone
    ? {
        effectiveness: {
          on: '2026-11-16',
          by: PEOPLE.quality,
          result: 'effective',
          says: 'twelve plates since then, none of them thicker than 1.52 mm (fictional)',
        },
      }
    : {}),
});

export const repeated = {
  invalidTests: [
    {
      result: { specimen: couponOf(FIRST, 2), piece: 'T1', characteristic: 'rm', replicate: 1 },
      cause: 'slipped in the grip: the curve shows it (fictional)',
      seenBy: PEOPLE.analyst,
      decidedBy: PEOPLE.process,
      at: '2026-10-07T10:00:00Z',
    },
  ],
  replacements: [
    {
      characteristic: 'rm',
      replaces: couponOf(FIRST, 2),
      by: couponOf(FIRST, 3),
      reason: 'one of its pieces slipped in the grip',
    },
  ],
};

/** What was rejected was destroyed. */
export const scrapped = {
  fates: [1, 2].map((n) => ({
    part: serialOf(SECOND, n),
    as: 'scrapped',
    at: '2026-10-12T09:00:00Z',
    by: PEOPLE.operator,
    evidence: 'scrapped.txt',
  })),
};
