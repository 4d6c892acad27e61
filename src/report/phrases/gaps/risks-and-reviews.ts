import { type GapPhrase, listed } from './gap-phrase.js';

/** Risks, reviews, and what of the site the design rests on. */
export const RISK_AND_REVIEW_GAPS = {
  'hazard-without-control': {
    title: 'Hazard without control',
    asks: 'Is something done against each hazard?',
    says: () => 'no risk control is on record against it',
    remedy: 'Take in a risk control that names it, or answer why the risk is acceptable as it is.',
  },
  'control-not-verified': {
    title: 'Risk control never verified',
    asks: 'Does a study with its criterion met show that each risk control works?',
    says: ({ named }) =>
      `no study that met its criterion shows that it works: ${listed(named, 'named are', 'none is named')}`,
    remedy: 'Name the study under verifiedBy.',
  },
  'stage-not-reviewed': {
    title: 'Stage without review',
    asks: 'Was each stage of the plan reviewed by its day?',
    says: ({ stage, due }) => `stage "${stage}" was due on ${due}, and no review of it is on record`,
    remedy: 'Hold the review and take it in, or revise the plan.',
  },
  'change-not-listed': {
    title: 'Change without a list of what it touches',
    asks: 'Was it listed what each change that was decided touches?',
    says: () => 'nothing says what it touches: lots, documents, studies, risks, and who is to be told',
    remedy: 'Let lotwright design --touches list it, and take the list in with --take.',
  },
  'change-line-open': {
    title: 'Change with lines that nobody answered',
    asks: 'Does each line of what a change touches have an answer?',
    says: ({ lines }) => `nobody says what follows for ${lines}`,
    remedy: 'Answer each line in a further revision of the change: it is closed then.',
  },
  'change-list-altered': {
    title: 'Change with another list than was frozen',
    asks: 'Is the list of what a change touches the one that its digest names?',
    says: () => 'its lines are not those of the digest that it names',
    remedy: 'Let lotwright design --touches list it anew in a further revision.',
  },
  'reviewer-is-author': {
    title: 'Reviewer who is the author',
    asks: 'Did the independent reviewer write nothing of what was reviewed?',
    says: ({ independent, documents }) =>
      `${independent} reviewed as the independent one, and is the author of ${documents}`,
    remedy: 'Let somebody without responsibility for it review it again.',
  },
  'review-not-independent': {
    title: 'Review without an independent reviewer',
    asks: 'Did somebody take part in each review who has no responsibility for what was reviewed?',
    says: () => 'it names no participant as independent',
    remedy: 'Name the independent participant, or hold the review again with one.',
  },
  'action-late': {
    title: 'Action of a review that is late',
    asks: 'Is each action of a review done by its day?',
    says: ({ what, who, due }) => `"${what}" was due from ${who} on ${due}`,
    remedy: 'Do it, and enter the day in the review.',
  },
  'action-open': {
    title: 'Open action of a review',
    asks: 'Is each action of a review done?',
    says: ({ what, who, due }) => `"${what}" is due from ${who} on ${due}`,
    remedy: 'Do it, and enter the day in the review.',
  },
  'supplier-approval-ends': {
    title: 'Approval of a supplier ends',
    asks: 'Are suppliers of the materials of the specification approved for the next 90 days?',
    says: ({ scope, to, over }) => `the approval for ${scope} ${over === 'yes' ? 'ended' : 'ends'} on ${to}`,
    remedy: 'Renew the approval, or approve another supplier.',
  },
  'validation-ends': {
    title: 'Process validation ends',
    asks: 'Does each process validation hold for the next 90 days?',
    says: ({ to, over }) => `it ${over === 'yes' ? 'ended' : 'ends'} on ${to}`,
    remedy: 'Validate again, and take in the revision.',
  },
  'trigger-machine-moved': {
    title: 'Machine moved since its validation',
    asks: 'Does each validated machine stand where it was validated?',
    says: ({ machine, was, is }) => `${machine} stood in "${was}" when it was validated, and stands in "${is}" now`,
    remedy: 'Validate again where it stands now, or answer why the move changes nothing.',
  },
  'trigger-new-supplier': {
    title: 'New supplier since the validation',
    asks: 'Were all suppliers of its materials approved when the process was validated?',
    says: ({ supplier, scope, since, shown }) =>
      `${supplier} was approved for ${scope} on ${since}, after the performance was shown on ${shown}`,
    remedy: 'Validate with the material of this supplier, or answer why it is the same.',
  },
  'trigger-recipe-group': {
    title: 'Recipe group that no validation covers',
    asks: 'Does a validation of its machine cover the group of each current recipe?',
    says: ({ group, machine, named }) =>
      `no process validation of ${machine} covers recipe group ${group}: ${listed(named, 'on record are', 'there is none')}`,
    remedy: 'Validate the group, or answer why a validation of another group covers it.',
  },
} satisfies Record<string, GapPhrase>;
