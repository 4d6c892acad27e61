import type { Effect, MayBeDecided, Subject } from '../assessment.js';
import type { FactName } from './fact-name.js';

/** Facts by their names: all that a sentence over them needs. */
export type Told = Readonly<Partial<Record<FactName, string>>>;

/** What a check found, before it has an identity and the decisions on it are known. */
export interface FindingDraft {
  readonly rule: string;
  readonly subjects: readonly Subject[];
  /** All that its words need. */
  readonly facts: Told;
  readonly effect: Effect;
  /** Serials of the implants that it touches; none for what concerns the lot as a whole. */
  readonly units: readonly string[];
  /** Whether people may lift it; `no` when absent. */
  readonly mayBeDecided?: MayBeDecided;
  /** Set when it blocks for want of evidence: the check is then open and has not failed. */
  readonly wantsEvidence?: true;
}
