import { approvalPhrases } from '../approval.js';
import type { CheckPhrases } from '../phrase.js';

export const movesSigned: CheckPhrases = {
  title: 'Moves of units are signed',
  asks: 'Is each move by which units left the lot, or came over into it, approved by quality?',
  recompute: `For each unit-move of the lot file, on its implants: "no approval" unless it is approved (on its digest). Does not apply
without a unit-move.`,
  basis: ({ moves }) => `${moves} moves of units`,
  doesNotApply: 'no unit left the lot or came over from another',
  rules: { 'no approval': approvalPhrases(({ move }) => `Unit move ${move}`)['no approval']! },
};
