import { digestOf } from '../../../src/dossier/canonical.js';
import type { Cell } from '../cell.js';

const HEAD = { entries: 40, root: '5a'.repeat(32) };
const head = (kind: string, key: Record<string, string>, title: string) => ({
  kind,
  format: 1,
  ...key,
  revision: 1,
  title,
  family: 'PLATE',
});

const TOUCHED = [{ sort: 'lot', key: 'L-1', says: '2 in process' }];

/** The history of one design, a document of each kind. All invented. */
export const DESIGN_DOCUMENTS: Cell['documents'] = {
  'site/design/plan.yaml': {
    ...head('design-plan', { plan: 'DP-1' }, 'Plan of plates'),
    text: 'inputs, outputs and studies are traced by their codes',
    stages: [
      { stage: 'concept', due: '2030-06-01' },
      { stage: 'freeze', due: '2030-12-01' },
    ],
    file: 'plan.txt',
  },
  'site/design/need.yaml': {
    ...head('user-need', { need: 'UN-1' }, 'Holds until healed'),
    text: 'the plate holds until the bone carries by itself',
    source: 'interviews with surgeons (invented)',
  },
  'site/design/input.yaml': {
    ...head('design-input', { input: 'DI-1' }, 'Strength'),
    text: 'tensile strength of at least 215 MPa',
    source: 'need UN-1',
    meets: [{ need: 'UN-1', revision: 1 }],
  },
  'site/design/output.yaml': {
    ...head('design-output', { output: 'DO-1' }, 'Limit of strength'),
    what: { kind: 'specification', key: 'SP', revision: 3 },
    meets: [{ input: 'DI-1', revision: 1 }],
    essential: 'yes',
    criterion: 'each lot within the specification',
  },
  'site/design/study.yaml': {
    ...head('design-study', { designStudy: 'DS-1' }, 'Strength of the longest plate'),
    purpose: 'verification',
    protocol: { number: 'DS-1-P', revision: 2, approvedAt: '2030-08-01T09:00:00+02:00', file: 'protocol.txt' },
    criterion: {
      characteristic: 'rm',
      claim: 'at least',
      value: '215',
      ucum: 'MPa',
      confidence: '0.95',
      reliability: '0.95',
    },
    technique: 'tolerance interval',
    n: 10,
    rationale: 'spread of six earlier builds (invented)',
    from: '2030-09-01',
    to: '2030-09-20',
    lots: ['L-1'],
    coupons: ['L-1-W1'],
    sterilised: 'yes',
    aged: 'two years at 25 °C',
    verifies: [
      { input: 'DI-1', revision: 1 },
      { output: 'DO-1', revision: 1 },
    ],
    validates: [{ need: 'UN-1', revision: 1 }],
    worstCaseOf: [{ envelope: 'ENV', revision: 1 }],
    deviations: 'none',
    result: 'met',
    report: { number: 'DS-1-R', at: '2030-10-01', file: 'report.txt' },
  },
  'site/design/review.yaml': {
    ...head('design-review', { review: 'DR-1' }, 'Review of the freeze'),
    stage: 'freeze',
    on: '2030-12-01',
    participants: ['P-QE', 'P-AN'],
    independent: 'P-AN',
    reviews: [{ kind: 'design-output', key: 'DO-1', revision: 1 }],
    findings: 'none',
    actions: [{ what: 'test another length', who: 'P-AN', due: '2031-02-01', doneOn: '2031-01-20' }],
    file: 'minutes.txt',
  },
  'site/design/hazard.yaml': {
    ...head('hazard', { hazard: 'HZ-1' }, 'Breaks too early'),
    situation: 'degrades faster than the bone heals',
    harm: 'second operation',
    severity: 'S3',
    probability: { before: 'P3', after: 'P1' },
  },
  'site/design/control.yaml': {
    ...head('risk-control', { control: 'RC-1' }, 'Least strength'),
    by: 'design',
    text: 'a limit on strength, tested on each lot',
    characteristic: 'rm',
    controls: [{ hazard: 'HZ-1', revision: 1 }],
    verifiedBy: [{ designStudy: 'DS-1', revision: 1 }],
  },
  'site/design/change.yaml': {
    ...head('design-change', { change: 'DC-1' }, 'Tighter limit'),
    what: 'the limit goes from 210 to 215 MPa',
    why: 'study DS-1',
    changes: [{ kind: 'recipe', key: 'RC', revision: 2 }],
    leadsTo: [{ kind: 'specification', key: 'SP', revision: 3 }],
    touches: {
      asOf: HEAD,
      sha256: digestOf(TOUCHED),
      lines: TOUCHED.map((line) => ({ ...line, answer: 'nothing follows' })),
    },
    risksAgain: 'HZ-1 becomes less likely',
    decision: 'go',
  },
  'site/design/transfer.yaml': {
    ...head('design-transfer', { transfer: 'DT-1' }, 'Transfer to the cell'),
    to: 'Room 1',
    on: '2031-01-10',
    transfers: [{ kind: 'recipe', key: 'RC', revision: 2 }],
    shownBy: [{ validation: 'PV', revision: 1 }],
    text: 'three builds by the operators (invented)',
    file: 'transfer.txt',
  },
  'site/design/labelling.yaml': {
    ...head('labelling-decision', { labelling: 'LD-1' }, 'No card'),
    about: 'implant card',
    laws: ['EU'],
    decision: 'none goes with it',
    why: 'plates are exempt (invented)',
  },
  'site/design/software.yaml': {
    kind: 'software',
    format: 1,
    software: 'CAD',
    revision: 1,
    title: 'Drawing program',
    version: '7.1',
    use: 'from images to the model',
    validatedBy: { report: 'SV-1', on: '2030-05-01', by: 'P-QE', file: 'software.txt' },
  },
  'site/design/gap.yaml': {
    kind: 'gap-answer',
    format: 1,
    gap: 'd4'.repeat(32),
    rule: 'input-without-validation',
    subjects: [{ kind: 'design-input', key: 'DI-1' }],
    justification: 'runs until autumn',
    until: '2031-10-01',
    given: { by: 'P-QE', at: '2031-02-01T09:00:00+01:00' },
  },
  'site/design/baseline.yaml': {
    kind: 'baseline',
    format: 1,
    family: 'PLATE',
    name: 'freeze-1',
    members: [
      { kind: 'design-input', key: 'DI-1', revision: 1, digest: 'b1'.repeat(32) },
      { kind: 'recipe', key: 'RC', revision: 2, digest: 'b2'.repeat(32) },
    ],
    asOf: HEAD,
  },
};

/** Within which bounds its plates may differ. */
export const ENVELOPE: Cell['documents'][string] = {
  kind: 'design-envelope',
  format: 1,
  envelope: 'ENV',
  revision: 1,
  title: 'Plates',
  family: 'PLATE',
  parameters: [
    {
      parameter: 'length',
      ucum: 'mm',
      min: '20',
      max: '60',
      worstCases: [{ value: '60', study: { designStudy: 'DS-1', revision: 1 } }],
    },
  ],
  sites: ['invented site'],
  sides: ['left'],
  imageAgeDays: 365,
  effectiveFrom: '2031-01-11T00:00:00+01:00',
};

export const DESIGN_FILES: Cell['files'] = Object.fromEntries(
  ['plan', 'protocol', 'report', 'minutes', 'transfer', 'software'].map((name) => [
    `site/design/${name}.txt`,
    `${name} (invented)\n`,
  ]),
);
