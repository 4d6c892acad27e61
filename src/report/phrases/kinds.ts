import type { SignedThing } from '../../dossier/signable.js';
import type { KindName } from '../../kinds/catalogue.js';
import type { Subject, SubjectKind } from '../../ledger/subject.js';
import { textBy } from './coded.js';
import type { LIES_BESIDE } from './since-looked.js';

/** What people call each kind of entry; the code of a kind stands in files, addresses and commands. */
export const KINDS_IN_WORDS: Readonly<Record<KindName, string>> = {
  family: 'device family',
  'route-permission': 'route permission',
  'design-envelope': 'design envelope',
  case: 'case',
  'imaging-set': 'imaging set',
  'case-design': 'case design',
  'design-acceptance': 'design acceptance',
  'support-window': 'support window',
  recipe: 'recipe',
  method: 'test method',
  'process-validation': 'process validation',
  'equivalence-study': 'equivalence study',
  specification: 'specification',
  supplier: 'supplier',
  'material-specification': 'material specification',
  receipt: 'receipt',
  'powder-state': 'powder state',
  consumable: 'consumable',
  machine: 'machine',
  'channel-map': 'channel map',
  'instrument-profile': 'instrument profile',
  'certificate-profile': 'certificate profile',
  instrument: 'instrument',
  person: 'person',
  lot: 'lot',
  changeover: 'changeover',
  'risk-build': 'build at risk',
  'process-load': 'process load',
  nonconformity: 'nonconformity',
  'rework-instruction': 'rework instruction',
  'unit-move': 'move of units',
  'corrective-action': 'corrective action',
  'storage-place': 'storage place',
  'test-medium': 'test medium',
  exposure: 'exposure',
  'stock-part': 'stock part',
  handover: 'handover',
  outcome: 'outcome of a unit',
  'unit-return': 'return of units',
  complaint: 'complaint',
  disposal: 'disposal',
  impact: 'impact assessment',
  recall: 'recall',
  'capability-plan': 'capability plan',
  'signal-outcome': 'outcome of a signal',
  'design-plan': 'design plan',
  'user-need': 'user need',
  'design-input': 'design input',
  'design-output': 'design output',
  'design-study': 'design study',
  'design-review': 'design review',
  hazard: 'hazard',
  'risk-control': 'risk control',
  'design-change': 'design change',
  'design-transfer': 'design transfer',
  'labelling-decision': 'labelling decision',
  software: 'software',
  'gap-answer': 'answer to a gap',
  baseline: 'baseline',
  'program-version': 'program version',
  heat: 'heat',
  build: 'build',
  implant: 'implant',
  coupon: 'coupon',
  'place-log': 'log of a storage place',
  'shape-deviation': 'shape as measured',
  'shape-change': 'change of a stock part as measured',
  'result-set': 'result sheet',
  result: 'result',
  act: 'signed act',
};

/** The same of what is signed without being a document, of what lies beside it, and of whatever else the audit trail tells. */
export const THINGS_IN_WORDS: Readonly<Record<SignedThing | SubjectKind | keyof typeof LIES_BESIDE, string>> = {
  certificate: 'certificate of receipt',
  qualification: 'qualification',
  'log finding': 'log finding',
  'log finding group': 'group of log findings',
  'custom statement': 'statement of a custom-made device',
  'capability statement': 'capability statement',
  disposition: 'disposition of a nonconformity',
  'check finding': 'release check finding',
  'lot file': 'lot file',
  assessment: 'assessment',
  summary: 'first page',
  'review list': 'list for the reviewer',
  course: 'what befell the lot before',
  folder: 'data folder',
  evidence: 'evidence file',
  'results of lot': 'results of lot',
  'log of build': 'log of build',
  'lot file of lot': 'lot file of lot',
  'capability of': 'capability of',
  'assessment of lot': 'assessment of lot',
  'summaries of lot': 'values of lot',
  record: 'record',
  entry: 'entry',
  key: 'key',
  account: 'account',
  'audit trail': 'audit trail',
  program: 'program',
  'family history': 'history of the family',
};

/** Keys that are words as well, by kind. */
export const KEYS_IN_WORDS: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  folder: { data: 'of this installation' },
  account: { 'first administrator': 'of the first administrator' },
  'audit trail': {
    'audit trail as CSV': 'as CSV',
    'audit trail as PDF': 'as PDF',
    'this check': 'this check',
    'all of it': 'all of it',
  },
  database: {
    'tables and indexes': 'tables and indexes',
    folder: 'folder',
  },
};

const kindInWords = textBy(KINDS_IN_WORDS);
const thingInWords = textBy(THINGS_IN_WORDS);

/** `powder state` for `powder-state`. */
export const kindText = (kind: string): string =>
  Object.hasOwn(KINDS_IN_WORDS, kind) ? kindInWords(kind) : thingInWords(kind);

/** `recipe R-1, revision 2`. */
export const entryText = (kind: string, key: string, revision: number | null): string =>
  `${kindText(kind)} ${key}${revision === null ? '' : `, revision ${revision}`}`;

/** The first of several things, and how many more there are. */
/** `239 × result`. */
export const countedKindText = (kind: string, count: number): string => `${count} × ${kindText(kind)}`;

export const moreText = (first: string, others: number): string => `${first} and ${others} more`;

/** The key of what an entry of the audit trail is about, with how many more things it covers. */
export const subjectKeyText = ({ kind, key, others = 0 }: Subject): string => {
  const named = textBy(KEYS_IN_WORDS[kind] ?? {})(key);
  return others === 0 ? named : moreText(named, others);
};

/** `lot file of lot L-1`; the same on the page, on paper and where a check names what differs. */
export const trailSubjectText = (subject: Subject): string =>
  entryText(subject.kind, subjectKeyText(subject), subject.revision);
