import type { ClaimNote } from '../../assessment/assessment.js';
import { decisionOutcomeText, meaningText, roleText } from './codes.js';
import { kindText } from './kinds.js';

/** Facts of a claim; which of them there are depends on what it is. */
export type ClaimFacts = Readonly<
  Record<'kind' | 'key' | 'finding' | 'outcome' | 'role' | 'row' | 'file' | 'meaning', string>
>;

/** What an approval, an acceptance or a decision was given on. */
export const CLAIM_PHRASES: Readonly<Record<ClaimNote['what'], (facts: ClaimFacts) => string>> = {
  approval: ({ kind, key }) => `approval of ${kindText(kind)} ${key}`,
  acceptance: ({ key }) => `acceptance of receipt ${key}`,
  'log finding': ({ finding, outcome, role }) =>
    `log finding ${finding.slice(0, 12)} ${decisionOutcomeText(outcome)} (${roleText(role)})`,
  'invalid test': ({ row }) => `result ${row} is from an invalid test`,
  'result sheet': ({ file, meaning }) => `${file} ${meaningText(meaning)}`,
};
