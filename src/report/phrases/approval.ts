import { timeText } from '../../dossier/time-text.js';
import type { Phrase, Told } from './phrase.js';

const clearedBy = 'Quality engineer: sign it here, or take it in again with the signed original as evidence.';

/** The two rules for an approval that is missing or only claimed, of whatever has to carry one. */
export const approvalPhrases = (what: (facts: Told) => string): Readonly<Record<string, Phrase>> => ({
  'no approval': (facts) => ({ says: `${what(facts)} carries no approval.`, clearedBy }),
  'claimed, not signed': (facts) => ({
    says: `${what(facts)}: approval by ${facts.claimedBy} at ${timeText(facts.claimedAt)} is claimed by the file and not signed.`,
    clearedBy,
  }),
});
