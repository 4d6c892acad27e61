import { logFindingWords } from '../log-finding.js';
import type { CheckPhrases } from '../phrase.js';

export const logFindingsDecided: CheckPhrases = {
  title: 'Process inside its windows and in the order of the recipe, or decided',
  asks: 'Did every channel stay in its window and every step keep its place, or were the departures decided?',
  recompute: `The log findings on what the process did (section 9).`,
  basis: ({ reject, action, alert }) => `${reject} at reject level, ${action} at action level, ${alert} noted as alert`,
  rules: {},
  otherRule: logFindingWords,
};
