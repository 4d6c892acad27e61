import { timeText } from '../../../dossier/time-text.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const lineCleared: CheckPhrases = {
  title: 'Line cleared between cases',
  asks: 'Did somebody who did not run it see that nothing of another case was left, before each chamber closed?',
  recompute: `For each build of a machine with "clearance" yes: "nobody looked" (C) where it has no "lineClearance"; else "looked after
it closed" (C) where its "at" is after "closedAt"; else "by whoever ran it" (C) where its "by" is the "operator". Implants: those of
the build. Does not apply when there is no such build.`,
  basis: ({ builds }) => builds,
  doesNotApply: 'no machine of the lot asks for it',
  rules: {
    'nobody looked': (facts) => ({
      says: `Nobody says that nothing of another case was left in ${facts.machine} before ${facts.build} closed.`,
      clearedBy: `Operator: enter who saw it and when. ${CONCEDE}`,
    }),
    'looked after it closed': (facts) => ({
      says: `${facts.by} cleared the line for ${facts.build} at ${timeText(facts.at)}, after the chamber closed at ${timeText(facts.closedAt)}.`,
      clearedBy: `Operator: correct the time that is wrong. ${CONCEDE}`,
    }),
    'by whoever ran it': (facts) => ({
      says: `${facts.by} cleared the line for ${facts.build} and ran it.`,
      clearedBy: `Operator: enter who else saw it. ${CONCEDE}`,
    }),
  },
};
