import type { EntryRef } from '../../kinds/references.js';
import type { DesignIndex } from '../design-index.js';
import type { GapCode } from './gap-code.js';

/** Something that a design history lacks, as a rule finds it. */
export interface GapDraft {
  /** What it is about, the entry first that somebody has to mend. */
  readonly subjects: readonly [EntryRef, ...EntryRef[]];
  /** What of it, where one entry can lack the same thing more than once. */
  readonly detail?: string;
  /** For its words. */
  readonly facts?: Readonly<Record<string, string>>;
  /** Day on which it is due or ends. */
  readonly by?: string;
  /** Codes of people, where the rule knows better than by who signed the first subject. */
  readonly owners?: readonly string[];
}

/** One rule. Its words stand in `src/report/phrases/gaps`. */
export interface GapRule {
  readonly code: GapCode;
  /** Where it comes from. */
  readonly clause: string;
  find(design: DesignIndex): GapDraft[];
}

export const ref = ({ kind, key }: EntryRef): EntryRef => ({ kind, key });
