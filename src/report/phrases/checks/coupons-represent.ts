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
  recompute: `For the pairs of coupons-planned, but for a spare coupon without a current row: each step after the build that
only one of the two went through, and that was not after the implant was "moved" by its fate (a step without "parts" is of all; those of one name that name the
same "load", or none at the same "at", are one, of the parts of all of them, which counts as the first; a rework, which names an "instruction", only when it is sterilise): "not of the same sterile load" for sterilise, "not the same
step after the build" (C) for any other; and for each serious log finding that touches layers of the implant, "outside the layers
of an excursion" (D) when it does not touch all of these on the coupon. For every coupon with every implant under its
"standsFor": "excursion of the coupon alone" (D) for each serious log finding that touches the coupon and not the implant. Serious:
of level reject, or of level action and not accepted. Implants: that of the pair. Does not apply without a coupon that stands for
an implant.`,
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
