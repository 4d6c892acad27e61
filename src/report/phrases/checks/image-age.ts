import { designsText } from '../designs.js';
import { type CheckPhrases, CONCEDE } from '../phrase.js';

export const imageAge: CheckPhrases = {
  title: 'Images young enough',
  asks: 'Were the images of each design taken no longer before the build than its envelope allows?',
  basis: designsText,
  doesNotApply: 'no design lies in an envelope that limits the age of images',
  rules: {
    'images too old': (facts) => ({
      says: `Images of case ${facts.case} were ${facts.days} days old at the build; the envelope of its design allows ${facts.most}.`,
      clearedBy: CONCEDE,
    }),
  },
};
