import type { Facts } from '../../dossier/facts.js';
import type { Characteristic, Plan } from '../../kinds/specification.js';
import { tQuantile } from '../../statistics/student-t.js';
import { convert, convertDifference } from '../../units.js';
import { type PlanVerdict, worstVerdict } from '../assessment.js';
import { invalidBecause, validationNamed } from '../validations.js';
import { asCompared, gapsText, numbersOf, type Sample, stored, undecided } from './sample.js';
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
  const rule = `process validation ${plan.validation}, ${plan.confidence} confidence, ${plan.reliability} reliability`;
  const own = worstVerdict(values.map((value) => value.verdict));
  // It fails the units that it speaks for; for their neighbours it only says that the process is not what it was.
  if (own === 'does not conform') return undecided(rule, 'a value misses its limits: the process may have moved');
  const validation = validationNamed(facts, plan.validation);
  const why = validation ? invalidBecause(facts, validation, closedAt) : `${plan.validation} is not in the lot file`;
  if (why !== undefined || !validation) return undecided(rule, why!);
  const pool = pooled(validation.body.shown, item);
  if (!pool) return undecided(rule, `${plan.validation} shows nothing of ${item.title}`);
  const k = toleranceFactor(item, pool.n, Number(plan.confidence), Number(plan.reliability));
  const numbers = { n: pool.n, mean: stored(pool.mean), sd: stored(pool.sd), k: stored(k), values: values.length };
  const limits = { lower: numeric(item.lower), upper: numeric(item.upper) };
  if (!keepsLimits(pool, k, limits)) {
    return undecided(rule, `${plan.validation} does not show it: mean ± ${stored(k)} sd leaves the limits`, numbers);
  }
  if (own === 'cannot be decided')
    return undecided(rule, gapsText(sample) ?? 'a value of this lot cannot be decided', numbers);
  const single = numbersOf(values);
  if (single.length < values.length) {
    return undecided(rule, 'a value reported as below or above a bound cannot show that the process has not moved');
  }
  const t = tQuantile(1 - (1 - Number(plan.agreement)) / (2 * single.length), pool.n - 1);
  const half = t * pool.sd * Math.sqrt(1 + 1 / pool.n);
  const moved = single.filter((value) => asCompared(Math.abs(value - pool.mean)) > asCompared(half));
  const from = stored(pool.mean - half);
  const to = stored(pool.mean + half);
  const checked = { ...numbers, checkFrom: from, checkTo: to };
  return moved.length > 0
    ? undecided(rule, `${moved.length} values lie outside ${from} to ${to}: the process may have moved`, checked)
    : {
        rule,
        verdict: 'conforms',
        says: `all ${single.length} values lie within ${from} to ${to} of the pool`,
        numbers: checked,
      };
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
