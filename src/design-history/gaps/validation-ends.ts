import { daysAfter, SOON_DAYS } from '../days.js';
import { type GapRule, ref } from './gap-rule.js';

export const validationEnds: GapRule = {
  code: 'validation-ends',
  clause: 'ISO 13485:2016 7.5.6',
  find(design) {
    const soon = daysAfter(design.today, SOON_DAYS);
    return design
      .current('process-validation')
      .map((validation) => ({ validation, to: validation.body.validUntil.slice(0, 10) }))
      .filter(({ to }) => to <= soon)
      .map(({ validation, to }) => ({
        subjects: [ref(validation)],
        facts: { to, over: to < design.today ? 'yes' : 'no' },
        by: to,
      }));
  },
};
