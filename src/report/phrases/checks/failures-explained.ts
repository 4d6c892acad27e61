import { NOTHING_TO_ASK } from '../absent.js';
import type { CheckPhrases } from '../phrase.js';

export const failuresExplained: CheckPhrases = {
  title: 'Failed coupons have a cause',
  asks: 'Did an excursion touch every coupon that failed, or did two people sign what else made it fail?',
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
