import { specimenText } from '../../../dossier/tables.js';
import { timeText } from '../../../dossier/time-text.js';
import type { CheckPhrases, Told } from '../phrase.js';

const before = (facts: Told): string =>
  `${facts.earlierMethod}, which destroys what it measures, was done on it at ${timeText(facts.earlierAt)}`;

const CLEARED =
  'Analyst: name the pieces into which the specimen was cut, or correct method, specimen or time, with a reason. ' +
  'Where the values stand as they are, process and quality engineer: decide on them with a rationale.';

export const destroyedOnce: CheckPhrases = {
  title: 'Each piece destroyed once',
  asks: 'Was any piece tested again, or measured, after a test had destroyed it?',
  recompute: `For each specimen with its piece, the current rows that do not count as invalid, by measuredAt: after the first one
by a method that is "destructive", each other test (rows of one method and one measuredAt are one) is "destroyed twice" (D) when it
is by a destructive method as well, and "measured after it was destroyed" (D) when it was later. Implants: those of the specimen.
Does not apply when nothing was tested by a destructive method.`,
  basis: ({ pieces }) => `${pieces} specimens and pieces of specimens that a test destroyed`,
  doesNotApply: 'No value comes from a test that destroys what it measures.',
  rules: {
    'destroyed twice': (facts) => ({
      says: `${specimenText(facts)} was tested by ${facts.method} at ${timeText(facts.at)}, which destroys it again: ${before(facts)}.`,
      clearedBy: CLEARED,
    }),
    'measured after it was destroyed': (facts) => ({
      says: `${specimenText(facts)} was measured by ${facts.method} at ${timeText(facts.at)} after it had been destroyed: ${before(facts)}.`,
      clearedBy: CLEARED,
    }),
  },
};
