import { designsText } from '../designs.js';
import type { CheckPhrases, Told } from '../phrase.js';

const what = ({ case: code, iteration }: Told): string => `case ${code} and iteration ${iteration} of its design`;
const clearedBy =
  'Nobody concedes site or side: case designer and prescriber find out which is right; the document that is wrong is corrected, or the implant rejected.';

export const sideAgrees: CheckPhrases = {
  title: 'Site and side agree',
  asks: 'Do prescription, design and marking name one site and one side?',
  recompute: `For each built design with a design: "another site" [does not conform] when "anatomicalSite" of case and design differ,
"another side" [does not conform] when "side" does. The marking, split at everything but letters, digits and hyphens, whatever
its capitals: each word l or left names left, r or right names right. "another side marked" [does not conform] when one names
another side than the design; "side not marked" [does not conform] when the design is left or right and none names a side. Does
not apply without a design.`,
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
