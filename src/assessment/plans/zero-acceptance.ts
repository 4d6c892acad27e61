import type { Plan } from '../../kinds/specification.js';
import { nonconformingItems, sampleSize, sampleSizeFromLot } from '../../statistics/sample-size.js';
import type { PlanVerdict } from '../assessment.js';
import { gapsOf, planVerdict, type Sample, specimensBy, undecided } from './sample.js';

type ZeroAcceptance = Extract<Plan, { rule: 'zero-acceptance' }>;

/**
 * n specimens for a confidence C and a reliability R, none of which may fail: n = ln(1 − C)/ln R rounded up, or drawn
 * from the units of a build (hypergeometric). Source: success-run formula; `statistics/sample-size`.
 */
export function zeroAcceptance(plan: ZeroAcceptance, sample: Sample): PlanVerdict {
  const { values, units } = sample;
  const rule = 'zero-acceptance';
  const design = { confidence: Number(plan.confidence), content: Number(plan.reliability), failuresAllowed: 0 };
  if (plan.of === 'lot' && nonconformingItems(design.content, units) === 0) {
    return undecided(rule, 'build too small', { units });
  }
  const needed = plan.of === 'process' ? sampleSize(design) : sampleSizeFromLot(design, units);
  const counts = specimensBy(values);
  const open = counts['cannot be decided'];
  const found = { needed, conforming: counts.conforms, failing: counts['does not conform'], open };
  if (found.failing > 0) return planVerdict(rule, 'does not conform', 'not accepted', found);
  if (open > 0) return { ...undecided(rule, 'specimens open', found), ...gapsOf(sample) };
  if (found.conforming < needed) return undecided(rule, 'too few specimens', found);
  return planVerdict(rule, 'conforms', 'accepted', found);
}
