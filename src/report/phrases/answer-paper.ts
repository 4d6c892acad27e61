import { PAPER } from './paper.js';

const demoMark = (demo: boolean): string => (demo ? PAPER.demo : '');

/** Words that signed answers on paper have in common. */
export const ANSWER_PAPER = {
  asOf: 'Data as of',
  asOfEntry: (size: number) => `entry ${size} of the audit trail`,
  root: 'Root over these entries',
  proven: 'Proven by this file',
  provenOf: (count: number, size: number) =>
    `${count} revisions stand in the audit trail, whose head of ${size} entries the installation signed`,
  printed: 'Printed',
  printedOf: (at: string, by: string) => `${at} by ${by}`,
  program: 'Program',
  attached: 'The whole answer as a program reads it, with keys and proofs. Its digest stands in the metadata.',
  howToCheck: (file: string) =>
    `The file carries this answer as ${file}. “lotwright verify” compares both, the seal, and the proofs that what is named stands in the audit trail. It cannot show that nothing was left out: for that the same is asked again as of the same entry.`,
} as const;

/** Words of the answer of a trace on paper. */
export const TRACE_PAPER = {
  number: (id: string) => `Trace of ${id}`,
  title: (id: string, demo: boolean) => `Trace of ${id}${demoMark(demo)}`,
  subject: (id: string) => `Where ${id} came from and where it went`,
  lead: 'Where it came from, where it went, and where each implant is',
  asked: 'Asked for',
  narrowedTo: 'Narrowed to',
  direction: (direction: 'back' | 'forward') =>
    direction === 'back' ? 'only what it came from' : 'only what came from it',
  from: (moment: string) => `used from ${moment}`,
  to: (moment: string) => `used up to ${moment}`,
  asOf: (moment: string) => `as on record at ${moment}`,
  candidates: 'Things that bear this identifier',
  units: 'Where its implants are',
  back: 'Came from',
  forward: 'Went into',
  earlier: 'Tied to by earlier revisions, and not any more',
  signed: 'Signed',
  entered: 'Taken in',
  cannotKnow: 'This search cannot know',
  none: 'Nothing on record.',
  revision: (revision: number) => (revision === 0 ? '' : `rev ${revision}`),
  heads: {
    implant: 'Implant',
    lot: 'Lot',
    proposed: 'Proposed',
    share: 'By mass',
    where: 'Where',
    since: 'Since',
    holder: 'With',
    by: 'By',
    ties: 'Ties',
    what: 'What',
    identifier: 'Identifier',
    name: 'Name',
    tied: 'How it is tied',
    at: 'At',
    meaning: 'Meaning',
    digest: 'Digest',
    bearsIt: 'As',
  },
} as const;

/** Words of the report of a recall or a drill on paper. */
export const RECALL_PAPER = {
  title: (code: string, drill: boolean, closed: boolean, demo: boolean) =>
    `${drill ? 'DRILL, not a recall: ' : 'Recall '}${code}, ${closed ? 'closing report' : 'OPEN'}${demoMark(demo)}`,
  subject: (query: string) => `What was called back because of ${query}`,
  lead: (drill: boolean) =>
    drill
      ? 'DRILL. Tried out: no hold and no place was changed by it, and nobody outside was told'
      : 'What was expected, what was found where, and how long it took',
  trigger: 'Trigger',
  reason: 'Reason',
  query: 'Asked for',
  askedAsOf: 'Asked as of',
  reconciled: 'Reconciled',
  time: 'Time used',
  lessons: 'What failed and what changes',
  units: 'Units, one by one',
  expected: (drill: boolean) => `${drill ? 'DRILL. ' : ''}Units that the trace named`,
  notices: 'Who was told',
  nobodyTold: 'Nobody outside, by what is on record.',
  clocks: 'Times to report',
  clock: (law: string, due: string, reported: string) =>
    `${law}: by ${due}, ${reported === '' ? 'not reported' : `reported ${reported}`}`,
  told: (to: string, at: string) => `${to}, ${at}`,
  signed: 'Signed',
  nobodySigned: 'Nobody signed this revision yet.',
  notYet: 'not yet',
  notOnRecord: 'not on record',
  otherwise: (found: string) => `${found}, other than on record`,
  heads: { onRecord: 'On record now', found: 'Found' },
} as const;

/** Words of an impact on paper. */
export const IMPACT_PAPER = {
  number: (key: string) => `Impact of ${key}`,
  title: (key: string, demo: boolean) => `Impact of ${key}${demoMark(demo)}`,
  subject: (key: string) => `What it means for results and implants that ${key} was found off`,
  lead: 'Every result and implant that it touches, as assessed first and assessed again',
  asked: 'Found off',
  time: 'Time of use',
  touched: 'Touched',
  again: 'Assessed again',
  balance: 'Where these implants are',
  resultsSha256: 'Digest of these results',
  units: 'Implants, those that change first',
  changes: 'changes',
  heads: {
    specimen: 'Specimen',
    characteristic: 'Asked of it',
    measured: 'Measured',
    value: 'Value',
    altered: 'Altered',
    first: 'First',
    again: 'Again',
    margin: 'Margin',
  },
} as const;

export const ANSWER_FILES = {
  question: (name: string, size: number) => `${name}-as-of-${size}.pdf`,
  impact: (key: string, size: number) => `impact-${key.replace(/[^A-Za-z0-9._-]/g, '-')}-as-of-${size}.pdf`,
  trace: (id: string, size: number) => `trace-${id.replace(/[^A-Za-z0-9._-]/g, '-')}-as-of-${size}.pdf`,
  recall: (code: string, revision: number) => `recall-${code.replace(/[^A-Za-z0-9._-]/g, '-')}-r${revision}.pdf`,
} as const;
