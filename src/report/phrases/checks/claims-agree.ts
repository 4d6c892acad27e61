import { meaningText } from '../codes.js';
import { kindText } from '../kinds.js';
import type { CheckPhrases } from '../phrase.js';

export const claimsAgree: CheckPhrases = {
  title: 'Files name the people who signed',
  asks: 'Where a file says who approved, accepted, checked or decided something, did these people sign it?',
  basis: ({ signed, claims }) => `${claims} people named by files for what people sign, ${signed} of them signed`,
  doesNotApply: 'No file of the lot names anybody for what people sign here.',
  rules: {
    'another signer': ({ kind, document, meaning, claimedBy, by }) => ({
      says: `${kindText(kind)} ${document}: the file names ${claimedBy} for "${meaningText(meaning)}", and ${by} signed it.`,
      clearedBy:
        'Whoever wrote the file: name the person who did it, with a reason; or the person named: sign it too. Where neither is true any more, process and quality engineer: decide it with a rationale.',
    }),
  },
};
