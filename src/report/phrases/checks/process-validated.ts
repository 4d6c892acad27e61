import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const processValidated: CheckPhrases = {
  title: 'Process validation valid on the build date',
  asks: 'Was the process that built each part validated, on that machine and for that recipe group, on that day?',
  recompute: `For each use of a recipe: "no process validation" (C) where none covers it. Else "no approval" or "claimed,
not signed" (both C) where the covering one is not approved, or "approved after the build" (C) when it was after "closedAt" of
the build; and "not valid on the build date" (C) when "closedAt" lies outside "validFrom" to "validUntil". Implants: those of
the use. Does not apply without a use.`,
  basis: ({ validations }) => validations,
  doesNotApply: 'nothing was built yet',
  rules: {
    ...approvalPhrases(({ validation }) => `Process validation ${validation}`),
    'no process validation': ({ recipeGroup, machine, build }) => ({
      says: `The specification names no process validation of recipe group ${recipeGroup} on ${machine}, for ${build}.`,
      clearedBy: 'Process engineer: name the validation in the next revision of the specification, before the build.',
    }),
    'approved after the build': ({ validation, approvedAt, build, closedAt }) => ({
      says: `Process validation ${validation} was approved at ${timeText(approvedAt)}, after ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: CONCEDE,
    }),
    'not valid on the build date': ({ validation, from, until, build, closedAt }) => ({
      says: `Process validation ${validation} is valid from ${timeText(from)} to ${timeText(until)}; ${build} was closed at ${timeText(closedAt)}.`,
      clearedBy: `Process engineer: validate again for what comes. ${CONCEDE}`,
    }),
  },
};
