import type { Plan } from '../../kinds/specification.js';
import { nonconformingItems, sampleSize, sampleSizeFromLot } from '../../statistics/sample-size.js';
import type { PlanVerdict } from '../assessment.js';
import { openText, type Sample, specimensBy, undecided } from './sample.js';

type ZeroAcceptance = Extract<Plan, { rule: 'zero-acceptance' }>;

/**
 * n specimens for a confidence C and a reliability R, none of which may fail: n = ln(1 − C)/ln R rounded up, or drawn
 * from the units of a build (hypergeometric). Source: success-run formula; `statistics/sample-size`.
 */
export function zeroAcceptance(plan: ZeroAcceptance, sample: Sample): PlanVerdict {
  const { values, units } = sample;
  const rule = `zero acceptance, ${plan.confidence} confidence, ${plan.reliability} reliability`;
  const design = { confidence: Number(plan.confidence), content: Number(plan.reliability), failuresAllowed: 0 };
  if (plan.of === 'lot' && nonconformingItems(design.content, units) === 0) {
    return undecided(rule, `a build of ${units} units cannot show a reliability of ${plan.reliability}`, { units });
  }
  const needed = plan.of === 'process' ? sampleSize(design) : sampleSizeFromLot(design, units);
  const counts = specimensBy(values);
  const found = { needed, conforming: counts.conforms, failing: counts['does not conform'] };
  if (found.failing > 0) {
    return { rule, verdict: 'does not conform', says: `${found.failing} specimens fail, none may`, numbers: found };
  }
  if (counts['cannot be decided'] > 0) {
    return undecided(rule, openText(sample, counts['cannot be decided']), found);
  }
  if (found.conforming < needed) {
    return undecided(rule, `${found.conforming} specimens conform, ${needed} are needed`, found);
  }
  return {
    rule,
    verdict: 'conforms',
    says: `${found.conforming} specimens conform, ${needed} are needed, none fails`,
    numbers: found,
  };
}
