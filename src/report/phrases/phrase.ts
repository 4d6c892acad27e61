import type { FactName } from '../../assessment/checks/fact-name.js';
import type { Characteristic } from '../../kinds/specification.js';

/** The facts of a finding, or of what a check looked at, by name. */
export type Told = Readonly<Record<FactName, string>>;

/** What is wrong, for the person who must clear it, and who that is. */
export interface Words {
  readonly says: string;
  readonly clearedBy: string;
}

export type Phrase = (facts: Told) => Words;

/** Every sentence about one release check. */
export interface CheckPhrases {
  readonly title: string;
  /** What it asks. */
  readonly asks: string;
  /** What it looked at: printed when it passes. */
  readonly basis: (facts: Told) => string;
  /** Why it does not apply to a lot, for a check to which that can happen. */
  readonly doesNotApply?: string;
  readonly rules: Readonly<Record<string, Phrase>>;
  /** For rules that stand elsewhere, as those of the log scanner do. */
  readonly otherRule?: (facts: Told, rule: string) => Words;
}

/** For what nobody can undo any more: the only way out for the units that it touches. */
export const CONCEDE =
  'Process and quality engineer: sign a concession with a rationale, with which units may go; their verdict stays.';

/** The characteristic as the specification asks for it. */
export const askedOf = ({ asked }: Told): Characteristic => JSON.parse(asked) as Characteristic;

/** A list that a fact holds as JSON. */
export const listOf = <T>(fact: string): T[] => JSON.parse(fact) as T[];
