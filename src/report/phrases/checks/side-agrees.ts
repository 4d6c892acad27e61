import { designsText } from '../designs.js';
import type { CheckPhrases, Told } from '../phrase.js';

const what = ({ case: code, iteration }: Told): string => `case ${code} and iteration ${iteration} of its design`;
const clearedBy =
  'Nobody concedes site or side: case designer and prescriber find out which is right; the document that is wrong is corrected, or the implant rejected.';

export const sideAgrees: CheckPhrases = {
  title: 'Site and side agree',
  asks: 'Do prescription, design and marking name one site and one side?',
  basis: designsText,
  doesNotApply: 'no design is on record',
  rules: {
    'another site': (facts) => ({ says: `The prescription of ${what(facts)} name different sites.`, clearedBy }),
    'another side': (facts) => ({ says: `The prescription of ${what(facts)} name different sides.`, clearedBy }),
    'another side marked': (facts) => ({
      says: `The marking in the design for ${what(facts)} names another side than the design itself.`,
      clearedBy,
    }),
    'side not marked': (facts) => ({
      says: `The marking in the design for ${what(facts)} does not tell the side.`,
      clearedBy: 'Case designer: write a further iteration whose marking has the side, such as L or R.',
    }),
  },
};
