import { type PlanVerdict, worstVerdict } from '../assessment.js';
import { gapsText, type Sample } from './sample.js';

/** Each planned value of the unit itself, or of the coupons that stand for it, must conform. */
export function everyUnit(sample: Sample): PlanVerdict {
  const { values } = sample;
  const gaps = gapsText(sample);
  const conforming = values.filter((value) => value.verdict === 'conforms').length;
  return {
    rule: 'every unit',
    verdict: worstVerdict(values.map((value) => value.verdict)),
    says: `${conforming} of ${values.length} planned values conform; each must${gaps === undefined ? '' : `. ${gaps}`}`,
    numbers: { planned: values.length, conforming },
  };
}
