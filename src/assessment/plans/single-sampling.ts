import type { Plan } from '../../kinds/specification.js';
import type { PlanVerdict } from '../assessment.js';
import { openText, type Sample, specimensBy, undecided } from './sample.js';

type SingleSampling = Extract<Plan, { rule: 'single-sampling' }>;

/** n specimens, of which at most c may fail. What cannot be decided may still turn out to fail. */
export function singleSampling({ n, accept }: SingleSampling, sample: Sample): PlanVerdict {
  const rule = `single sampling, n = ${n}, c = ${accept}`;
  const counts = specimensBy(sample.values);
  const failing = counts['does not conform'];
  const open = counts['cannot be decided'];
  const numbers = { n, accept, conforming: counts.conforms, failing, open };
  if (failing > accept) {
    return { rule, verdict: 'does not conform', says: `${failing} specimens fail, at most ${accept} may`, numbers };
  }
  if (open > 0) return undecided(rule, openText(sample, open), numbers);
  const tested = counts.conforms + failing;
  if (tested < n) return undecided(rule, `${tested} specimens are there, ${n} are needed`, numbers);
  return { rule, verdict: 'conforms', says: `${failing} of ${tested} specimens fail, at most ${accept} may`, numbers };
}
