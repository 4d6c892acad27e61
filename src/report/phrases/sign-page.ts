/** What each decision on a finding means, where it is chosen. */
export const OUTCOME_MEANINGS = {
  accepted: 'the finding no longer stands in the way',
  rejected: 'what it covers does not conform',
};
