import { designsText } from '../designs.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const imageAge: CheckPhrases = {
  title: 'Images young enough',
  asks: 'Were the images of each design taken no longer before the build than its envelope allows?',
  recompute: `For each built design whose design names an envelope, and each imaging set that the design lists: "images too old" (C) when
the calendar date of "built", as written there, lies more days after "takenOn" than "imageAgeDays" of the envelope. Does not
apply without such a design.`,
  basis: designsText,
  doesNotApply: 'no design lies in an envelope that limits the age of images',
  rules: {
    'images too old': (facts) => ({
      says: `Images of case ${facts.case} were ${facts.days} days old at the build; the envelope of its design allows ${facts.most}.`,
      clearedBy: CONCEDE,
    }),
  },
};
