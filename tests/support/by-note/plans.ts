import { type Counted, reported, summed, type Verdict, worst } from './acceptance.js';
import { type Carried, converted, digits, type Json, moment, unique } from './carried.js';
import { beta, normalQuantile, studentQuantile, toleranceFactor } from './numbers.js';
import { approvalOf, isApproved } from './words.js';

export interface Decided {
  readonly plan: Verdict;
  /** What it was computed to, where the note names it. */
  readonly numbers: Readonly<Record<string, number>>;
}

const [YES, NO, OPEN] = ['conforms', 'does not conform', 'cannot be decided'] as const;
const twelve = (value: number): number => digits(value, 12);
const open = (numbers: Decided['numbers'] = {}): Decided => ({ plan: OPEN, numbers });

/** The process validation of a code that the specification names and the lot file holds. */
export function validationNamed(carried: Carried, code: string): Json | undefined {
  const named = (carried.specification.body.validations ?? []).find((one: Json) => one.validation === code);
  return named && carried.pinned('process-validation', code, named.revision);
}

export function mayRelyOn(carried: Carried, code: string, closed: number): boolean {
  const found = validationNamed(carried, code);
  if (found === undefined) return false;
  const approval = approvalOf(carried, found.digest, found.body.approval);
  return (
    isApproved(approval) &&
    moment(approval.at) <= closed &&
    closed >= moment(found.body.validFrom) &&
    closed <= moment(found.body.validUntil)
  );
}

export function decideTogether(
  carried: Carried,
  item: Json,
  counted: readonly Counted[],
  units: number,
  implant: Json,
): Decided {
  const { plan } = item;
  const verdicts = counted.map(({ verdict }) => verdict);
  if (plan === 'every-unit') return { plan: worst(verdicts), numbers: {} };
  if (plan.rule === 'process-validation') return byValidation(carried, item, counted, implant);
  if (plan.rule === 'zero-acceptance' || plan.rule === 'single-sampling') return byCount(plan, counted, units);
  if (counted.some(({ value }) => value === undefined || reported(value).sign !== '')) return open();
  const { n, m, s } = summed(counted);
  if (n < (plan.rule === 'variables' ? plan.n : 2)) return open();
  const isGuarded = item.decision.rule === 'guarded';
  if (isGuarded && counted.some(({ uncertainty }) => uncertainty === '')) return open();
  const largest = Math.max(...counted.map(({ uncertainty }) => Number(uncertainty)));
  const guard = isGuarded ? normalQuantile(Number(item.decision.confidence)) * largest : 0;
  const two = item.lower !== undefined && item.upper !== undefined;
  const k =
    plan.rule === 'variables'
      ? Number(plan.k)
      : toleranceFactor(n, Number(plan.confidence), Number(plan.reliability), two);
  if (plan.rule === 'variables' && s === 0) return open();
  const accepted = (inwards: number): boolean => {
    const lower = item.lower === undefined ? undefined : twelve(Number(item.lower) + inwards);
    const upper = item.upper === undefined ? undefined : twelve(Number(item.upper) - inwards);
    if (plan.rule === 'tolerance-interval') return keeps(m, k * s, lower, upper);
    const [q1, q2] = [
      lower === undefined ? undefined : (m - lower) / s,
      upper === undefined ? undefined : (upper - m) / s,
    ];
    if (q1 === undefined || q2 === undefined) return twelve((q1 ?? q2)!) >= k;
    const p = (q: number) => {
      const x = Math.min(1, Math.max(0, 0.5 - (q * Math.sqrt(n)) / (2 * (n - 1))));
      return beta(x, n / 2 - 1, n / 2 - 1);
    };
    return twelve(p(q1) + p(q2)) <= twelve(p(k));
  };
  return { plan: accepted(guard) ? YES : accepted(-guard) ? OPEN : NO, numbers: { n, mean: m, sd: s, k } };
}

const keeps = (m: number, half: number, lower: number | undefined, upper: number | undefined): boolean =>
  (lower === undefined || twelve(m - half) >= lower) && (upper === undefined || twelve(m + half) <= upper);

function byCount(plan: Json, counted: readonly Counted[], units: number): Decided {
  const specimens = unique(counted.map(({ specimen }) => specimen)).map((one) =>
    worst(counted.filter(({ specimen }) => specimen === one).map(({ verdict }) => verdict)),
  );
  const count = (verdict: Verdict) => specimens.filter((one) => one === verdict).length;
  const [conforming, failing, undecided] = [count(YES), count(NO), count(OPEN)];
  if (plan.rule === 'single-sampling') {
    if (failing > plan.accept) return { plan: NO, numbers: {} };
    return undecided > 0 || conforming + failing < plan.n ? open() : { plan: YES, numbers: {} };
  }
  const needed = neededFor(plan, units);
  if (needed === undefined) return open();
  if (failing > 0) return { plan: NO, numbers: { needed } };
  return undecided > 0 || conforming < needed ? open({ needed }) : { plan: YES, numbers: { needed } };
}

function neededFor(plan: Json, units: number): number | undefined {
  const [risk, content] = [(1 - Number(plan.confidence)) * (1 + 1e-10), Number(plan.reliability)];
  let [n, misses] = [0, 1];
  if (plan.of === 'process') {
    for (; misses > risk; n++) misses *= content;
    return n;
  }
  const bad = Math.ceil(digits(units * (1 - content), 10));
  if (bad === 0) return undefined;
  for (; misses > risk; n++) misses *= (units - bad - n) / (units - n);
  return n;
}

function byValidation(carried: Carried, item: Json, counted: readonly Counted[], implant: Json): Decided {
  const { plan } = item;
  const own = worst(counted.map(({ verdict }) => verdict));
  if (own === NO) return open();
  const { closedAt } = carried.builds.find(({ build }) => build === implant.build) ?? {};
  if (!mayRelyOn(carried, plan.validation, moment(closedAt))) return open();
  const shown = validationNamed(carried, plan.validation)!.body.shown?.find(
    (one: Json) => one.characteristic === item.characteristic,
  );
  if (shown === undefined) return open();
  const [mean, sd] = [shown.mean, shown.sd].map((text) => Number(converted(text, shown.ucum, item.ucum)));
  const two = item.lower !== undefined && item.upper !== undefined;
  const k = toleranceFactor(shown.n, Number(plan.confidence), Number(plan.reliability), two);
  const numbers = { n: shown.n, mean: mean!, sd: sd!, k };
  const limit = (text: string | undefined) => (text === undefined ? undefined : Number(text));
  if (!keeps(mean!, k * sd!, limit(item.lower), limit(item.upper)) || own === OPEN) return open(numbers);
  const { numbers: values } = summed(counted);
  if (values.length < counted.length) return open();
  const t = studentQuantile(1 - (1 - Number(plan.agreement)) / (2 * values.length), shown.n - 1);
  const half = t * sd! * Math.sqrt(1 + 1 / shown.n);
  const checked = { ...numbers, checkFrom: mean! - half, checkTo: mean! + half };
  const isMoved = values.some((value) => twelve(Math.abs(value - mean!)) > twelve(half));
  return { plan: isMoved ? OPEN : YES, numbers: checked };
}
