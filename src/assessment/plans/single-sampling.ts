import type { Plan } from '../../kinds/specification.js';
import type { PlanVerdict } from '../assessment.js';
import { gapsOf, planVerdict, type Sample, specimensBy, undecided } from './sample.js';

type SingleSampling = Extract<Plan, { rule: 'single-sampling' }>;

/** n specimens, of which at most c may fail. What cannot be decided may still turn out to fail. */
export function singleSampling({ n, accept }: SingleSampling, sample: Sample): PlanVerdict {
  const rule = 'single-sampling';
  const counts = specimensBy(sample.values);
  const failing = counts['does not conform'];
  const open = counts['cannot be decided'];
  const tested = counts.conforms + failing;
  const numbers = { n, accept, conforming: counts.conforms, failing, open };
  if (failing > accept) return planVerdict(rule, 'does not conform', 'not accepted', numbers);
  if (open > 0) return { ...undecided(rule, 'specimens open', numbers), ...gapsOf(sample) };
  if (tested < n) return undecided(rule, 'too few specimens', numbers);
  return planVerdict(rule, 'conforms', 'accepted', numbers);
}
