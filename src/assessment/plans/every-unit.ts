import { type PlanVerdict, worstVerdict } from '../assessment.js';
import { gapsOf, planVerdict, type Sample } from './sample.js';

/** Each planned value of the unit itself, or of the coupons that stand for it, must conform. */
export function everyUnit(sample: Sample): PlanVerdict {
  const { values } = sample;
  const conforming = values.filter((value) => value.verdict === 'conforms').length;
  const verdict = worstVerdict(values.map((value) => value.verdict));
  return {
    ...planVerdict('every-unit', verdict, 'counted', { planned: values.length, conforming }),
    ...gapsOf(sample),
  };
}
