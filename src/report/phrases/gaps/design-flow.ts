import type { GapPhrase } from './gap-phrase.js';

/** From need to output, and what joins them. */
export const DESIGN_FLOW_GAPS = {
  'history-missing': {
    title: 'No design history',
    asks: 'Is anything written down of how this family was designed?',
    says: () => 'no plan, need, input, output, study, review or risk is on record for this family',
    remedy: 'Take in the design plan first, then needs and inputs.',
  },
  'plan-missing': {
    title: 'No design plan',
    asks: 'Is there a plan of the design?',
    says: () => 'no design plan is on record, so nobody can tell which stages and reviews were meant',
    remedy: 'Take in a design plan with its stages.',
  },
  'not-approved': {
    title: 'Draft in the design history',
    asks: 'Is each current document of the design approved?',
    says: ({ revision }) => `revision ${revision} is current and nobody approved it`,
    remedy: 'The author signs it, and a quality engineer approves it.',
  },
  'need-without-input': {
    title: 'Need without input',
    asks: 'Does at least one input serve each user need?',
    says: () => 'no design input serves this need',
    remedy: 'Take in a design input that names it under meets, or withdraw the need for cause.',
  },
  'input-without-output': {
    title: 'Input without output',
    asks: 'Does at least one output answer each input?',
    says: () => 'no design output answers this input',
    remedy: 'Take in a design output that names it under meets.',
  },
  'output-unasked': {
    title: 'Output that nothing asks for',
    asks: 'Does each output answer an input?',
    says: () => 'this output answers no design input',
    remedy: 'Name the input that it answers, or take in that input.',
  },
  'characteristic-without-input': {
    title: 'Characteristic without input',
    asks: 'Does an input ask for each characteristic of the specification?',
    says: ({ characteristic, title }) =>
      `no design input names ${characteristic} (${title}), which each lot is judged by`,
    remedy: 'Name the characteristic in the design input from which it follows.',
  },
  'tie-superseded': {
    title: 'Points at a revision that is not current',
    asks: 'Does each input, output, control and envelope point at current revisions?',
    says: ({ revision, latest, withdrawn }) =>
      withdrawn === 'yes'
        ? `it points at revision ${revision}, which was withdrawn for cause`
        : `it points at revision ${revision}, and revision ${latest} is current`,
    remedy: 'Look whether it still holds for the current revision, and revise it with the new number.',
  },
  'tie-to-nothing': {
    title: 'Points at nothing on record',
    asks: 'Is each revision on record that a document of the design points at?',
    says: ({ field, revision }) => `${field} names revision ${revision}, which is not on record`,
    remedy: 'Take in that revision, or correct the number.',
  },
  'revision-without-change': {
    title: 'Revised without a design change',
    asks: 'Does a design change that was decided lead to each revision of recipe, specification and method?',
    says: ({ revision }) => `revision ${revision} came into force by no design change with the decision go`,
    remedy: 'Take in the design change that names it under leadsTo, with its decision.',
  },
  'transfer-unshown': {
    title: 'Transfer without process validation',
    asks: 'Does a process validation show each transfer into manufacture?',
    says: () => 'no process validation shows that what was transferred can be made',
    remedy: 'Name the process validation under shownBy.',
  },
  'baseline-with-draft': {
    title: 'Baseline with a draft in it',
    asks: 'Was everything approved that a baseline froze?',
    says: ({ documents }) => `nobody approved what it froze: ${documents}`,
    remedy: 'Approve these revisions, or freeze another baseline without them.',
  },
  'baseline-not-as-recorded': {
    title: 'Baseline of something else than what is on record',
    asks: 'Does each digest in a baseline belong to the revision that it names?',
    says: ({ documents }) => `what it froze is not what is on record: ${documents}`,
    remedy: 'Freeze the design by the program, which reads the digests from the record.',
  },
} satisfies Record<string, GapPhrase>;
