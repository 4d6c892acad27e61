import { type Carried, digits, grouped, type Json } from './carried.js';
import { fQuantile, fUpper, lowerBound, meanOf, shapiroWilk, solve } from './numbers.js';

/** The numbers of `capability`, as far as the note says how to come to them; null where none is to be stated. */
export function indicesOf(carried: Carried, item: Json): Json {
  const history = carried
    .json('family-history.json')
    ?.characteristics.find((one: Json) => one.characteristic === item.characteristic);
  const plan = history?.plan && carried.pinned('capability-plan', history.plan.plan, history.plan.revision).body;
  const confidence = Number(plan?.confidence ?? 0.95);
  const { n = 0, mean, sumSquaredDeviations } = history?.pool ?? {};
  const none = { mean: null, sd: null, ppk: null, ppkLower: null, bounds: { independent: null, builds: null } };
  const described = { ...none, spread: null, normality: null, within: withinOf(history, item, confidence) };
  if (n < 2) return described;
  const sd = Math.sqrt(sumSquaredDeviations / (n - 1));
  if (sd === 0) return { ...described, mean, sd };
  const builds = byBuilds(history.pool, item, confidence);
  const normality = normalityOf(history, builds?.spread);
  const hasBounds = history.excluded.some(({ why }: Json) => why.code === 'only a bound');
  const known = { ...described, mean, sd, spread: builds?.spread ?? null, normality };
  const isNormal = (plan?.distribution.name ?? 'normal') === 'normal' && !(normality !== null && normality.p < 0.05);
  if (n < 10 || hasBounds || !isNormal) return known;
  const ppk = indexOf(item, mean, sd);
  const independent = lowerBound(ppk, n, n - 1, confidence);
  return {
    ...known,
    ppk,
    ppkLower: builds ? Math.min(independent, builds.bound) : null,
    bounds: { independent, builds: builds?.bound ?? null },
  };
}

const indexOf = ({ lower, upper, boundary }: Json, mean: number, sd: number): number =>
  Math.min(
    lower === undefined || boundary === 'lower' ? Number.POSITIVE_INFINITY : (mean - Number(lower)) / (3 * sd),
    upper === undefined || boundary === 'upper' ? Number.POSITIVE_INFINITY : (Number(upper) - mean) / (3 * sd),
  );

function byBuilds({ n, buildSizes, sumSquaredWithinBuilds }: Json, item: Json, confidence: number) {
  const sum = (of: (one: Json) => number) => buildSizes.reduce((total: number, one: Json) => total + of(one), 0);
  const k = sum(({ builds }) => builds);
  if (k < 2) return undefined;
  const h = k / sum(({ builds, values }) => builds / values);
  const mean = sum((one) => one.builds * one.mean) / k;
  const about = (centre: number, weight: (one: Json) => number) =>
    sum((one) => weight(one) * (one.sumSquaredDeviations + one.builds * (one.mean - centre) ** 2)) / (k - 1);
  const v = about(mean, () => 1);
  const w = n === k ? undefined : (sumSquaredWithinBuilds ?? 0) / (n - k);
  const sd = Math.sqrt(v + (1 - 1 / h) * (w ?? 0));
  if (sd === 0) return undefined;
  const grand = sum((one) => one.builds * one.values * one.mean) / sum((one) => one.builds * one.values);
  const f = w ? about(grand, ({ values }) => values) / w : null;
  const odds = w ? Math.max(0, ((h * v) / w / fQuantile(1 - confidence, k - 1, n - k) - 1) / h) : 0;
  const share = w ? odds / (1 + odds) : 1;
  const a = w === undefined ? 1 : share + (1 - share) / h;
  const effectiveValues = k / a;
  const degreesOfFreedom = 1 / (a ** 2 / (k - 1) + (w === undefined ? 0 : (1 - a) ** 2 / (n - k)));
  return {
    spread: {
      ...{ mean, sd, f, effectiveValues, degreesOfFreedom },
      within: w === undefined ? null : Math.sqrt(w),
      between: w === undefined ? null : Math.sqrt(Math.max(0, v - w / h)),
      p: f === null ? null : fUpper(f, k - 1, n - k),
    },
    bound: lowerBound(indexOf(item, mean, sd), effectiveValues, degreesOfFreedom, confidence),
  };
}

function normalityOf({ plan, last, takenOut }: Json, spread: Json): Json {
  const nameOf = (one: Json) => [one.lot, one.build, one.specimen, one.piece, one.replicate].join('\n');
  const named = new Map<string, Json>();
  for (const one of [...(plan?.baseline ?? []), ...last]) named.set(nameOf(one), one);
  for (const one of takenOut.last) named.delete(nameOf(one));
  const builds = [...grouped([...named.values()], ({ build }) => build).values()];
  const values = builds.flatMap((own) =>
    freed(
      own.map(({ value }) => value),
      spread,
    ),
  );
  if (values.length < 10 || new Set(values).size === 1) return null;
  return { values: values.length, ...shapiroWilk(values) };
}

function freed(own: readonly number[], spread: Json): readonly number[] {
  if (spread === undefined || !spread.between || spread.within === null) return own;
  const b = meanOf(own);
  if (spread.within === 0) return [b];
  const common = (b - spread.mean) / Math.sqrt(spread.within ** 2 + own.length * spread.between ** 2);
  return own.map((x) => (x - b) / spread.within + common);
}

function withinOf(history: Json, { lower, upper }: Json, confidence: number): Json {
  const builds = new Map<string, boolean>();
  for (const { lot, build, min, max } of history?.builds ?? []) {
    if (min === null || max === null) continue;
    const keeps = (lower === undefined || min >= Number(lower)) && (upper === undefined || max <= Number(upper));
    builds.set(`${lot} ${build}`, keeps && builds.get(`${lot} ${build}`) !== false);
  }
  if (builds.size === 0) return null;
  const keeping = [...builds.values()].filter((keeps) => keeps).length;
  const tail = (share: number) => atLeast(keeping, builds.size, share);
  return { builds: builds.size, keeping, shareLower: keeping === 0 ? 0 : solve(tail, 1 - confidence, 0, 1) };
}

/** P(at least so many of n) when each does with this probability. */
function atLeast(count: number, n: number, p: number): number {
  let sum = 0;
  for (let i = count; i <= n; i++) {
    let term = 1;
    for (let j = 1; j <= i; j++) term *= ((n - i + j) / j) * p;
    sum += term * (1 - p) ** (n - i);
  }
  return sum;
}

/** Limits of the chart and its points; null without a baseline. */
export function chartOf(carried: Carried, item: Json): Json {
  const history = carried
    .json('family-history.json')
    ?.characteristics.find((one: Json) => one.characteristic === item.characteristic);
  if (history?.plan === undefined) return null;
  const { subgroup } = carried.pinned('capability-plan', history.plan.plan, history.plan.revision).body;
  const groups =
    subgroup === 'none'
      ? history.plan.baseline.map((one: Json) => [one.value])
      : [...grouped(history.plan.baseline as Json[], (one) => one[subgroup]).values()].map((all) =>
          all.map(({ value }) => value),
        );
  const points: number[] = groups.map((values: number[]) =>
    values.length > 1 ? digits(meanOf(values), 9) : values[0],
  );
  if (points.length < 2) return null;
  const centre = meanOf(points);
  const moves = points.slice(1).map((point, i) => Math.abs(point - points[i]!));
  const sigma = (meanOf(moves) * Math.sqrt(Math.PI)) / 2;
  return sigma === 0 ? null : { centre, lower: centre - 3 * sigma, upper: centre + 3 * sigma };
}
