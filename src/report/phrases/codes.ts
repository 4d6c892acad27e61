import type { CheckFinding, Outcome, Verdict } from '../../assessment/assessment.js';
import type { Standing } from '../../assessment/signed.js';
import type { LogFinding } from '../../dossier/schema.js';
import type { Meaning, Role, Statement } from '../../dossier/statement.js';
import { ABSENT } from './absent.js';
import { textBy } from './coded.js';

/** Codes that are English words, as people read them. What is stored, sent and compared is always the code. */

export const VERDICTS: Readonly<Record<Verdict, string>> = {
  conforms: 'conforms',
  'does not conform': 'does not conform',
  'cannot be decided': 'cannot be decided',
};

/** Of a check. */
export const CHECK_OUTCOMES: Readonly<Record<Outcome, string>> = {
  passes: 'passes',
  fails: 'fails',
  'cannot be decided': 'cannot be decided',
  'does not apply': 'does not apply',
};

/** Of a finding, on the units that it names. */
export const EFFECTS: Readonly<Record<CheckFinding['effect'], string>> = {
  'does not conform': 'does not conform',
  'cannot be decided': 'cannot be decided',
  'blocks release': 'blocks release',
};

/** Of a log finding, and of a window of the recipe. */
export const LEVELS: Readonly<Record<LogFinding['level'], string>> = {
  alert: 'alert',
  action: 'action',
  reject: 'reject',
};

/** What a signature means. */
export const MEANINGS_IN_WORDS: Readonly<Record<Meaning, string>> = {
  performed: 'performed',
  checked: 'checked',
  reviewed: 'reviewed',
  approved: 'approved',
  decided: 'decided',
  released: 'released',
  rejected: 'rejected',
};

/** What a decision comes to. */
export const DECISION_OUTCOMES: Readonly<Record<NonNullable<Statement['outcome']>, string>> = {
  accepted: 'accepted',
  rejected: 'rejected',
};

export const ROLES: Readonly<Record<Role, string>> = {
  operator: 'operator',
  analyst: 'analyst',
  'case designer': 'case designer',
  'process engineer': 'process engineer',
  'quality engineer': 'quality engineer',
  releaser: 'releaser',
  regulatory: 'regulatory',
  administrator: 'administrator',
  auditor: 'auditor',
};

/** How an approval stands. */
export const STANDINGS: Readonly<Record<Standing['how'], string>> = {
  signed: 'signed',
  'approved elsewhere': 'approved elsewhere',
  claimed: 'claimed, not signed',
  none: ABSENT.none,
};

/** How a revision of a document stands; an earlier one follows from a later one. */
export const REVISION_STATES = {
  current: 'current',
  superseded: 'superseded',
  'withdrawn for cause': 'withdrawn for cause',
};
export type RevisionState = keyof typeof REVISION_STATES;

export const verdictText = textBy(VERDICTS);
export const checkOutcomeText = textBy(CHECK_OUTCOMES);
export const effectText = textBy(EFFECTS);
export const levelText = textBy(LEVELS);
export const meaningText = textBy(MEANINGS_IN_WORDS);
export const decisionOutcomeText = textBy(DECISION_OUTCOMES);
export const roleText = textBy(ROLES);
export const standingHowText = textBy(STANDINGS);
export const revisionStateText = textBy(REVISION_STATES);
