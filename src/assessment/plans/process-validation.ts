import { convert, convertDifference } from '../../base/units.js';
import type { Facts } from '../../dossier/facts.js';
import type { Characteristic, Plan } from '../../kinds/specification.js';
import { tQuantile } from '../../statistics/student-t.js';
import { type PlanVerdict, worstVerdict } from '../assessment.js';
import { validationFault, validationNamed } from '../validations.js';
import { asCompared, gapsOf, numbersOf, planVerdict, type Sample, stored, undecided } from './sample.js';
import { keepsLimits, toleranceFactor } from './tolerance-interval.js';

type Validated = Extract<Plan, { rule: 'process-validation' }>;

/**
 * Confidence and reliability were reached in the process validation over pooled lots; the values of this lot must keep
 * their limits and agree with the pool: each within mean ± t sd √(1 + 1/n), t so wide that all m values of an unmoved
 * process lie within with the stated probability (Bonferroni). Source: prediction interval for m future values of a
 * normal characteristic, Hahn and Meeker, Statistical Intervals (from memory).
 */
export function pooledValidation(plan: Validated, sample: Sample, facts: Facts, closedAt: string): PlanVerdict {
  const { item, values } = sample;
  const rule = 'process-validation';
  const own = worstVerdict(values.map((value) => value.verdict));
  // It fails the units that it speaks for; for their neighbours it only says that the process is not what it was.
  if (own === 'does not conform') return undecided(rule, 'value outside');
  const validation = validationFault(facts, plan.validation, closedAt);
  if (validation !== undefined) return { ...undecided(rule, 'validation not to be relied on'), validation };
  const pool = pooled(validationNamed(facts, plan.validation)!.body.shown, item);
  if (!pool) return undecided(rule, 'nothing shown');
  const k = toleranceFactor(item, pool.n, Number(plan.confidence), Number(plan.reliability));
  const numbers = { n: pool.n, mean: stored(pool.mean), sd: stored(pool.sd), k: stored(k), values: values.length };
  const limits = { lower: numeric(item.lower), upper: numeric(item.upper) };
  if (!keepsLimits(pool, k, limits)) {
    return undecided(rule, 'limits not shown', numbers);
  }
  if (own === 'cannot be decided') {
    const outcome = sample.gaps.length > 0 ? 'gaps' : 'value open';
    return { ...undecided(rule, outcome, numbers), ...gapsOf(sample) };
  }
  const single = numbersOf(values);
  if (single.length < values.length) {
    return undecided(rule, 'only bounds', { bounds: values.length - single.length, found: values.length });
  }
  const t = tQuantile(1 - (1 - Number(plan.agreement)) / (2 * single.length), pool.n - 1);
  const half = t * pool.sd * Math.sqrt(1 + 1 / pool.n);
  const moved = single.filter((value) => asCompared(Math.abs(value - pool.mean)) > asCompared(half));
  const from = stored(pool.mean - half);
  const to = stored(pool.mean + half);
  const checked = { ...numbers, checkFrom: from, checkTo: to, moved: moved.length };
  return moved.length > 0 ? undecided(rule, 'moved', checked) : planVerdict(rule, 'conforms', 'accepted', checked);
}

const numeric = (limit: string | undefined): number | undefined => (limit === undefined ? undefined : Number(limit));

/** Mean and spread that the validation states, in the unit of the characteristic. */
function pooled(
  shown: readonly { characteristic: string; ucum: string; n: number; mean: string; sd: string }[],
  item: Characteristic,
) {
  const found = shown.find((entry) => entry.characteristic === item.characteristic);
  if (!found) return undefined;
  return {
    n: found.n,
    mean: Number(convert(found.mean, found.ucum, item.ucum)),
    sd: Number(convertDifference(found.sd, found.ucum, item.ucum)),
  };
}
