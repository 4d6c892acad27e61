import { type CheckPhrases, PAIRS, readFact } from '../phrase.js';
import { interfacePropertyText } from '../stock-parts.js';

const DECIDE = 'Process and quality engineer: decide what else tells of it.';

export const interfaceTested: CheckPhrases = {
  title: 'Interface with the stock tested',
  asks: 'Do bond, hardness and porosity where new metal meets stock have values, of coupons that were built so too?',
  recompute: `For each implant with "builtOn" of which something was built (stock-part-accepted), and each of bond, hardness and porosity: the entries of "interface" of
"builtOnStock" of the specification that have it as "tells". "nothing tells of it" (D) without any. For each that names a "characteristic": "of
another zone" (D) when that has a "zoneClass" which is not the class of the implant's zone that its stock part names ("zone" of "interface"; class
as for support-window-met); else, when it is measured on coupons, of the coupons that may speak for the implant in it by its plan, as in section 6 (by a
plan other than every-unit those of all implants of its build) but spare ones too, those with a current row of it: "no coupon tells of it" (D) without any;
for each "coupon on no stock" (D) unless the coupon has a "builtOn" and something of it was built, and "coupon on other stock"
(D) when the "material" or the "preparation" of that stock part is another. Whether values are missing or fail is asked with all
others. Implants: that one. Does not apply without such an implant.`,
  basis: ({ implants, characteristics, reasons }) => {
    const told = readFact(PAIRS, reasons).map(
      ([property, why]) => `${interfacePropertyText(property)} not measured: ${why}`,
    );
    return [`${implants} by ${characteristics === '' ? 'no characteristic' : characteristics}`, ...told].join('; ');
  },
  doesNotApply: 'no implant was built on a part that was there before',
  rules: {
    'nothing tells of it': ({ implant, property }) => ({
      says: `The specification names no characteristic for the ${interfacePropertyText(property)} where the metal of ${implant} meets its stock, and no reason why not.`,
      clearedBy: `Process engineer: name one, or the reason, under "builtOnStock" in the next revision. ${DECIDE}`,
    }),
    'of another zone': ({ implant, property, characteristic, zoneClass }) => ({
      says: `${characteristic} tells of the ${interfacePropertyText(property)} of another class of zones than the one in which ${implant} meets its stock${zoneClass === '' ? '' : ` (${zoneClass})`}.`,
      clearedBy: `Process engineer: name one of that class in the next revision. ${DECIDE}`,
    }),
    'no coupon tells of it': ({ implant, property, characteristic }) => ({
      says: `No coupon gives ${characteristic} for the ${interfacePropertyText(property)} where the metal of ${implant} meets its stock.`,
      clearedBy: `Analyst: measure the coupons that stand for it. ${DECIDE}`,
    }),
    'coupon on no stock': ({ implant, property, characteristic, coupon }) => ({
      says: `Coupon ${coupon} gives ${characteristic} for the ${interfacePropertyText(property)} of ${implant}, and was built on no stock part.`,
      clearedBy: `Operator: name the stock part on which the coupon was built, where it was. ${DECIDE}`,
    }),
    'coupon on other stock': ({ implant, property, characteristic, coupon, stockPart }) => ({
      says: `Coupon ${coupon} gives ${characteristic} for the ${interfacePropertyText(property)} of ${implant}, and was built on ${stockPart}: another material, or a face made ready in another way.`,
      clearedBy: DECIDE,
    }),
  },
};
