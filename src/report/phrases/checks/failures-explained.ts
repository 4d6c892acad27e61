import { NOTHING_TO_ASK } from '../absent.js';
import type { CheckPhrases } from '../phrase.js';

export const failuresExplained: CheckPhrases = {
  title: 'Failed coupons have a cause',
  asks: 'Did an excursion touch every coupon that failed, or did two people sign what else made it fail?',
  recompute: `"failed without a cause" (D) for each coupon with a value that does not conform and does not count as invalid,
unless a log finding of level action or reject touches the coupon, decided or not. Implants: those under its "standsFor". Does not
apply without a coupon.`,
  basis: ({ coupons, logFindings }) => `failed coupons: ${coupons}, of which an excursion touched ${logFindings}`,
  doesNotApply: NOTHING_TO_ASK.noCoupon,
  rules: {
    'failed without a cause': ({ coupon, characteristics, values, implants }) => ({
      says: `Coupon ${coupon}, which stands for ${implants}, failed in ${characteristics} (${values}), and no excursion touched it: nobody has said why.`,
      clearedBy:
        'Process and quality engineer: look for the cause in making and testing, and decide with it as the rationale. The value stays, and so does its verdict.',
    }),
  },
};
