import { timeText } from '../../../dossier/time-text.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { layersText } from '../log-finding.js';
import { type CheckPhrases, LAYERS, type Phrase, readFact } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const stepNotShared: Phrase = ({ step, load, at, did, didNot, coupon, implant }) => ({
  says: `${did} went through ${stepText(step)}${load === '' ? '' : `, load ${load},`} at ${timeText(at)} and ${didNot} did not: ${coupon} does not speak for ${implant}.`,
  clearedBy: 'Operator: put the part through the same step. Process engineer: name a coupon that shared it.',
});

export const couponsRepresent: CheckPhrases = {
  title: 'Coupons share what happened to the implants',
  asks: 'Did each coupon go through the same steps, the same sterile load and the same excursions as its implants?',
  basis: ({ steps, logFindings }) => `${steps} steps after the build, ${logFindings} log findings`,
  doesNotApply: NOTHING_TO_ASK.noCoupon,
  rules: {
    'not of the same sterile load': stepNotShared,
    'not the same step after the build': stepNotShared,
    'outside the layers of an excursion': ({ coupon, implant, finding, layers }) => ({
      says: `${coupon} does not speak for ${layersText(readFact(LAYERS, layers))} of ${implant}: log finding ${finding.slice(0, 12)} touched these and not the coupon.`,
      clearedBy:
        'Process and quality engineer: decide on evidence from the implant itself, such as tomography of these layers.',
    }),
    'excursion of the coupon alone': ({ coupon, implant, finding }) => ({
      says: `Log finding ${finding.slice(0, 12)} touched ${coupon} and not ${implant}: their histories differ.`,
      clearedBy:
        'Process and quality engineer: decide whether its values still speak for the implant, or test a spare.',
    }),
  },
};
