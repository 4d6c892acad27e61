import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import type { CheckPhrases } from '../phrase.js';

export const specificationInForce: CheckPhrases = {
  title: 'Specification in force at the build',
  asks: 'Was the specification revision effective, approved, and fixed before the data were known?',
  recompute: `The specification against the earliest "closedAt" of all builds: "not yet effective" (C) when
"effectiveFrom" lies after it; and "no approval" or "claimed, not signed" where it is not approved, else "approved after the
build" (C) when it was after it. Implants: all.`,
  basis: ({ specification }) => specification,
  rules: {
    ...approvalPhrases(({ specification }) => `Specification ${specification}`),
    'not yet effective': ({ specification, effectiveFrom, closedAt }) => ({
      says: `Specification ${specification} is effective from ${timeText(effectiveFrom)}, after the first build was closed at ${timeText(closedAt)}.`,
      clearedBy: 'Quality engineer: assess by the revision that was in force, or justify the later limits.',
    }),
    'approved after the build': ({ specification, approvedAt, closedAt }) => ({
      says: `Specification ${specification} was approved at ${timeText(approvedAt)}, after the first build was closed at ${timeText(closedAt)}.`,
      clearedBy: 'Quality engineer: state why limits were approved after the build, or use the earlier revision.',
    }),
  },
};
