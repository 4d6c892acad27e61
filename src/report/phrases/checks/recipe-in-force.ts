import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE, PAIRS, readFact } from '../phrase.js';

export const recipeInForce: CheckPhrases = {
  title: 'Recipe in force at the build',
  asks: 'Was each recipe revision written for the machine, effective, and approved before the chamber closed?',
  recompute: `For each use of a recipe: "not yet effective" (C) when its "effectiveFrom" lies after "closedAt" of the
build; "for another machine" (C) when its "machine" is not that of the build; and "no approval" or "claimed, not signed" where
it is not approved, else "approved after the build" (C) when it was after "closedAt". Implants: those of the use.`,
  basis: ({ uses }) =>
    readFact(PAIRS, uses)
      .map(([recipe, build]) => `${recipe} for ${build}`)
      .join('; '),
  rules: {
    ...approvalPhrases(({ recipe }) => `Recipe ${recipe}`),
    'not yet effective': ({ recipe, effectiveFrom, build, closedAt }) => ({
      says: `Recipe ${recipe} is effective from ${timeText(effectiveFrom)}, but ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: `Process engineer: name the revision that was in force. ${CONCEDE}`,
    }),
    'for another machine': ({ recipe, writtenFor, build, machine }) => ({
      says: `Recipe ${recipe} was written for ${writtenFor}, and ${build} is a closure of ${machine}.`,
      clearedBy:
        'Process engineer: name the recipe by which this machine worked, or correct the closure that the lot names.',
    }),
    'approved after the build': ({ recipe, approvedAt, build, closedAt }) => ({
      says: `Recipe ${recipe} was approved at ${timeText(approvedAt)}, after ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: CONCEDE,
    }),
  },
};
