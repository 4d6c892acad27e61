import { type Carried, grouped, type Json, unique } from './carried.js';
import { differences, hours, isOff, rateOf, sharesBath, water } from './checks-of-exposures.js';
import { chiSquareUpper, deviationOf, meanOf, normalQuantile, studentQuantile } from './numbers.js';
import { drawnDoubt, endsOf, standardDraws } from './simulation.js';
import { approvalOf, D, FAILS, type Found, found, isApproved } from './words.js';

/** Support windows, as the paragraph of support-window-met says. */
type Answer = 'yes' | 'no' | 'unknown';
interface Lost {
  readonly h: number;
  readonly d: number;
  readonly u: number;
  readonly build: string;
}
interface Group {
  readonly h: number;
  readonly m: number;
  readonly all: readonly Lost[];
}
/** A line, what it is known to, and at which times. */
interface Curve {
  readonly at: (h: number) => { readonly c: number; readonly variance: number } | undefined;
  /** Where its parameters are moved; without it the line itself is moved. */
  readonly moved?: (h: number, z1: number, z2: number) => number;
  readonly isBent?: boolean;
}
interface Depth {
  readonly least: number;
  readonly most: number;
}

const t = (freedom: number): number => (freedom > 0 ? studentQuantile(0.95, freedom) : Number.POSITIVE_INFINITY);
const product = (a: number, b: number): number =>
  a === Number.POSITIVE_INFINITY || b === Number.POSITIVE_INFINITY ? Number.POSITIVE_INFINITY : a * b;
const sum = (values: readonly number[]): number => values.reduce((all, one) => all + one, 0);

export function windowsMet(carried: Carried): { readonly found: Found[]; readonly applies: boolean } {
  if (carried.specification.body.supportWindow !== 'decides') return { found: [], applies: false };
  const [family] = carried.allPinned('family');
  const asked = carried.implants.flatMap((implant) => {
    const file = carried.cases.find((one) => one.case === implant.case);
    return file === undefined ? [] : [zonesAsked(implant, file, family.body.support)];
  });
  const windows = unique(asked.flatMap(({ window }) => (window === undefined ? [] : [window])));
  return {
    applies: true,
    found: [
      ...asked.filter(({ zones }) => zones.length === 0).map(({ serial }) => found('no window stated', [serial])),
      ...windows.flatMap((window) => {
        const approval = approvalOf(carried, window.digest, window.body.approval);
        const units = asked.filter((one) => one.window === window).map(({ serial }) => serial);
        return isApproved(approval) ? [] : [found(approval.how, units)];
      }),
      ...asked.flatMap(({ implant, serial, design, zones }) =>
        zones.flatMap((zone: Json): Found[] => {
          const section =
            design?.body.zones.find((one: Json) => one.zone === zone.zone)?.section ?? family.body.support;
          const answers = section === undefined ? ['unknown'] : answersOf(carried, implant, zone, section);
          if (answers.includes('no')) return [found('outside its window', [serial], FAILS)];
          return answers.every((answer) => answer === 'yes') ? [] : [found('not known to hold', [serial], D)];
        }),
      ),
    ],
  };
}

function zonesAsked(implant: Json, { pinned }: Json, support: Json) {
  const of = (kind: string): Json[] => pinned.filter((one: Json) => one.kind === kind);
  const [window] = of('support-window').sort((a, b) => b.revision - a.revision);
  const design = of('case-design').find(({ revision }) => revision === Number(implant.designIteration));
  const { weeks: holdWeeks, strengthLeft } = support ?? {};
  const byFamily =
    support === undefined ? [] : implant.zones.map(({ zone }: Json) => ({ zone, holdWeeks, strengthLeft }));
  return { implant, serial: implant.serial, window, design, zones: window?.body.zones ?? byFamily };
}

function answersOf(carried: Carried, implant: Json, asked: Json, section: Json): Answer[] {
  const zone =
    implant.zones.find((one: Json) => one.zone === asked.zone) ??
    implant.zones.find((one: Json) => one.recipeZone === asked.zone);
  const recipe = carried.pinned('recipe', implant.recipe.recipe, implant.recipe.revision);
  const zoneClass = recipe.body.zones.find((one: Json) => one.zone === zone?.recipeZone)?.class;
  if (zoneClass === undefined) return ['unknown'];
  const every = carried.allPinned('exposure').map(({ body }) => body);
  const coupons = carried.coupons.filter(
    (coupon) => coupon.standsFor.includes(implant.serial) && speaks(carried, coupon, zoneClass),
  );
  const own = every.filter(
    (one) =>
      one.zoneClass === zoneClass && rateOf(one) !== undefined && coupons.some(({ coupon }) => coupon === one.specimen),
  );
  const off = every.filter(isOff);
  const isUseless = (one: Json) =>
    isOfUnknownDoubt(one) ||
    off.some((other) => sharesBath(one, other)) ||
    differences.slice(0, -1).some((differ) => own.some((other) => differ(other, one)));
  const factor = factorOf(carried, own);
  if (own.length === 0 || own.some(isUseless) || factor === undefined) return ['unknown'];
  const buildOf = (one: Json) => coupons.find(({ coupon }) => coupon === one.specimen)!.build ?? '';
  const simulation = carried.json('simulation.json');
  const lost = own.map((one) => ({ h: hours(one), d: depthOf(one), u: doubtOf(one, simulation), build: buildOf(one) }));
  if (lost.some(({ u }) => u === Number.POSITIVE_INFINITY)) return ['unknown'];
  const measured = every.filter(
    (one) => one.specimen === implant.serial && one.zoneClass === zoneClass && one.to !== undefined,
  );
  return judge(lost, factor, asked, section, measured, simulation);
}

function speaks(carried: Carried, { study }: Json, zoneClass: string): boolean {
  const body = study && carried.pinned('equivalence-study', study.study, study.revision)?.body;
  const rates = carried.specification.body.characteristics.filter(({ source }: Json) => source === 'exposure');
  return (
    body?.zoneClasses.includes(zoneClass) &&
    rates.some(({ characteristic }: Json) => body.characteristics.includes(characteristic))
  );
}

const depthOf = (exposure: Json): number => (1000 * rateOf(exposure)! * hours(exposure)) / 8760;

/** Nothing is said of how well the one quantity is known from which the loss was found. */
function isOfUnknownDoubt({ uncertainty = {}, massG, volumeMm3 }: Json): boolean {
  if (massG?.afterCleaning !== undefined) return uncertainty.massG === undefined;
  return (volumeMm3 === undefined ? uncertainty.volumeMl : uncertainty.volumeMm3) === undefined;
}

/** The greater of first order and, where divisors are hardly known, of what is drawn. */
function doubtOf(exposure: Json, simulation: Json): number {
  const { uncertainty, massG, hydrogen, areaCm2, densityGPerCm3, volumeMm3 } = exposure;
  const first = firstOrder(exposure);
  const of = (name: string) => Number(uncertainty[name] ?? 0);
  const area = [Number(areaCm2), of('areaCm2')] as const;
  const time = [hours(exposure), of('timeH')] as const;
  const density = [Number(densityGPerCm3), of('densityGPerCm3')] as const;
  const isByMass = massG?.afterCleaning !== undefined;
  const isByVolume = !isByMass && volumeMm3 !== undefined;
  const divisors = isByVolume ? [area, time] : [area, time, density];
  const isByGas = !isByMass && !isByVolume;
  const isStraight = Math.hypot(...divisors.map(([x, u]) => u / x)) <= 0.01 && !(isByGas && of('gasC') > 1);
  if (simulation === undefined || isStraight) return first;
  const over = (lost: number, by: readonly number[]) =>
    by.some((x) => x <= 0) ? Number.POSITIVE_INFINITY : lost / by.reduce((all, x) => all * x, 1);
  // The time cancels out of a depth, but not out of the rate that it is computed from.
  const depth = (rate: number) => (1000 * rate * hours(exposure)) / 8760;
  if (isByMass) {
    const lost = Number(massG.before) - Number(massG.afterCleaning) - Number(massG.blankLoss ?? 0);
    const doubt = of('massG') * (massG.blankLoss === undefined ? Math.SQRT2 : 2);
    return drawnDoubt(simulation, [[lost, doubt], ...divisors], ([w, ...by]) => depth(over(87600 * w!, by)), first);
  }
  if (isByVolume) {
    const lost = Number(volumeMm3.before) - Number(volumeMm3.after);
    const known = [[lost, of('volumeMm3') * Math.SQRT2] as const, ...divisors];
    return drawnDoubt(simulation, known, ([v, ...by]) => depth(over(87.6 * v!, by)), first);
  }
  const read = Number(hydrogen.volumeMl) - Number(hydrogen.blankMl ?? 0);
  const doubt = of('volumeMl') * (hydrogen.blankMl === undefined ? 1 : Math.SQRT2);
  const known = [
    [read, doubt] as const,
    [Number(hydrogen.gasC), of('gasC')] as const,
    [Number(hydrogen.kPa), of('kPa')] as const,
    ...divisors,
  ];
  const lostByGas = ([v, c, p, ...by]: readonly number[]) => {
    const gasC = hydrogen.water === 'wet' ? Math.min(100, Math.max(0, c!)) : c!;
    const gas = (p! - water({ ...hydrogen, gasC })) * v!;
    return depth(over((87600 * hydrogen.gPerMol * gas) / (8314.46261815324 * (gasC + 273.15)), by));
  };
  return drawnDoubt(simulation, known, lostByGas, first);
}

/** By differences: what the depth changes by for a little of each quantity. */
function firstOrder(exposure: Json): number {
  const { uncertainty, massG, hydrogen, areaCm2, densityGPerCm3, volumeMm3 } = exposure;
  const by = (name: string, times: number, value: number, change: (to: number) => Json): number => {
    const step = 1e-6 * Math.max(1e-3, Math.abs(value));
    const slope = (depthOf(change(value + step)) - depthOf(change(value - step))) / (2 * step);
    return slope * times * Number(uncertainty[name] ?? 0);
  };
  const lasting = (to: number) => (1000 * rateOf(exposure)! * (hours(exposure) / to) * hours(exposure)) / 8760;
  const timeStep = 1e-6 * hours(exposure);
  const byTime =
    ((lasting(hours(exposure) + timeStep) - lasting(hours(exposure) - timeStep)) / (2 * timeStep)) *
    Number(uncertainty.timeH ?? 0);
  const common = [by('areaCm2', 1, Number(areaCm2), (to) => ({ ...exposure, areaCm2: to })), byTime];
  const byDensity = () =>
    by('densityGPerCm3', 1, Number(densityGPerCm3), (to) => ({ ...exposure, densityGPerCm3: to }));
  if (massG?.afterCleaning !== undefined) {
    const times = massG.blankLoss === undefined ? Math.SQRT2 : 2;
    const slope =
      depthOf(exposure) / (Number(massG.before) - Number(massG.afterCleaning) - Number(massG.blankLoss ?? 0));
    return Math.hypot(slope * times * Number(uncertainty.massG ?? 0), byDensity(), ...common);
  }
  if (volumeMm3 !== undefined) {
    const change = (to: number) => ({ ...exposure, volumeMm3: { ...volumeMm3, before: to } });
    return Math.hypot(by('volumeMm3', Math.SQRT2, Number(volumeMm3.before), change), ...common);
  }
  const gas = (name: string) => (to: number) => ({ ...exposure, hydrogen: { ...hydrogen, [name]: to } });
  return Math.hypot(
    by('volumeMl', hydrogen.blankMl === undefined ? 1 : Math.SQRT2, Number(hydrogen.volumeMl), gas('volumeMl')),
    by('gasC', 1, Number(hydrogen.gasC), gas('gasC')),
    by('kPa', 1, Number(hydrogen.kPa), gas('kPa')),
    byDensity(),
    ...common,
  );
}

interface Factor {
  readonly f: number;
  readonly b: number;
  /** Of one more specimen, and degrees of freedom of it. */
  readonly s: number;
  readonly freedom?: number;
}

function factorOf(carried: Carried, exposures: readonly Json[]): Factor | undefined {
  const factors = exposures
    .filter((one) => one.deepestUm !== undefined && depthOf(one) > 0)
    .map((one) => Math.max(1, Number(one.deepestUm) / depthOf(one)));
  const n = factors.length;
  if (n > 0) {
    const s = n === 1 ? 0 : deviationOf(factors) * Math.sqrt(1 + 1 / n);
    return { f: meanOf(factors), b: n === 1 ? Number.POSITIVE_INFINITY : t(n - 1) * s, s, freedom: n - 1 };
  }
  const stated = carried.allPinned('family')[0].body.support?.localisationFactor;
  return stated === undefined ? undefined : { f: Number(stated), b: 0, s: 0 };
}

function groupsOf(lost: readonly Lost[]): Group[] {
  const groups: Lost[][] = [];
  for (const one of [...lost].sort((a, b) => a.h - b.h)) {
    const last = groups.at(-1);
    if (last && one.h - last[0]!.h <= 0.02 * one.h) last.push(one);
    else groups.push([one]);
  }
  return groups.map((all) => ({ h: meanOf(all.map(({ h }) => h)), m: meanOf(all.map(({ d }) => d)), all }));
}

function spreadOf(groups: readonly Group[]): { readonly r: number; readonly freedom: number } {
  const parts = groups.flatMap(({ all, m }) => {
    if (all.length < 2 || m === 0) return [];
    const builds = [...grouped(all, ({ build }) => build).values()].map((some) => some.map(({ d }) => d));
    const g = builds.length > 1 ? builds.length - 1 : all.length - 1;
    const depths = all.map(({ d }) => d);
    const isWithin = builds.some((some) => some.some((d) => d !== some[0]));
    if (builds.length === 1 || !isWithin) return [{ g, v: (deviationOf(depths) / m) ** 2 }];
    const inner =
      sum(builds.map((some) => sum(some.map((d) => (d - meanOf(some)) ** 2)))) / (all.length - builds.length);
    const outer = sum(builds.map((some) => some.length * (meanOf(some) - m) ** 2)) / (builds.length - 1);
    const size = (all.length - sum(builds.map((some) => some.length ** 2)) / all.length) / (builds.length - 1);
    return [{ g, v: (inner + Math.max(0, (outer - inner) / size)) / m ** 2 }];
  });
  const freedom = sum(parts.map(({ g }) => g));
  return { r: freedom === 0 ? 0 : Math.sqrt(sum(parts.map(({ g, v }) => g * v)) / freedom), freedom };
}

function falls(groups: readonly Group[], r: number): boolean {
  const known = ({ m, all }: Group) => (r * m) ** 2 / all.length + meanOf(all.map(({ u }) => u * u));
  return groups.slice(1).some((after, i) => {
    const before = groups[i]!;
    return before.m - after.m > 2 * Math.sqrt(known(before) + known(after));
  });
}

const SHAPES: readonly {
  readonly of: (h: number, b: number) => number;
  readonly range: (longest: number) => readonly [number, number];
}[] = [
  { of: (h) => h, range: () => [1, 1] },
  { of: (h, b) => h ** b, range: () => [0.05, 5] },
  { of: (h, b) => 1 - Math.exp(-h / b), range: (longest) => [longest / 50, 50 * longest] },
];

function lawOf(groups: readonly Group[], r: number): Curve | undefined {
  if (groups.length < 2) return undefined;
  const points = groups.flatMap(({ m, all }) =>
    all.map(({ h, d, u }) => ({ h, d, w: 1 / Math.max(u * u + (r * m) ** 2, 1e-4) })),
  );
  const longest = Math.max(...points.map(({ h }) => h));
  const n = points.length;
  const fits = SHAPES.slice(0, groups.length < 3 ? 1 : 3).map(({ of, range }, index) => {
    const scale = (b: number) =>
      sum(points.map(({ h, d, w }) => w * d * of(h, b))) / sum(points.map(({ h, w }) => w * of(h, b) ** 2));
    const misfit = (b: number) => sum(points.map(({ h, d, w }) => w * (d - scale(b) * of(h, b)) ** 2));
    const b = least(misfit, ...range(longest));
    const j = index === 0 ? 1 : 2;
    const criterion = n > j + 1 ? misfit(b) + 2 * j + (2 * j * (j + 1)) / (n - j - 1) : undefined;
    return { of, a: scale(b), b, j, chi: misfit(b), criterion };
  });
  const best = Math.min(...fits.flatMap(({ criterion }) => criterion ?? []));
  const { of, a, b, j, chi } =
    fits.find(({ criterion }) => criterion !== undefined && criterion <= best + 2) ?? fits[0]!;
  if (!(a > 0) || (n > j && chiSquareUpper(chi, n - j) < 0.01)) return undefined;
  const slope = (h: number) => (j === 1 ? 0 : (a * (of(h, b * (1 + 1e-6)) - of(h, b * (1 - 1e-6)))) / (2e-6 * b));
  const aa = sum(points.map(({ h, w }) => w * of(h, b) ** 2));
  const ab = sum(points.map(({ h, w }) => w * of(h, b) * slope(h)));
  const bb = sum(points.map(({ h, w }) => w * slope(h) ** 2));
  const determinant = aa * bb - ab * ab;
  const excess = n > j ? Math.max(1, chi / (n - j)) : 1;
  const isSingular = j === 1 || !(determinant > 1e-12 * aa * bb);
  const [va, vab, vb] = isSingular ? [1 / aa, 0, 0] : [bb / determinant, -ab / determinant, aa / determinant];
  const [x, y] = [of(longest, b), slope(longest)];
  const along = Math.sqrt(excess * (x * x * va! + 2 * x * y * vab! + y * y * vb!));
  const withE = (excess * (x * vab! + y * vb!)) / along;
  const alone = Math.sqrt(Math.max(0, excess * vb! - withE ** 2));
  const [lowB, highB] = SHAPES.find((one) => one.of === of)!.range(longest);
  return {
    isBent: j === 2,
    moved: (h, z1, z2) => {
      const moved = j === 1 ? b : Math.min(highB, Math.max(lowB, b + withE * z1 + alone * z2));
      return ((a * x + along * z1) * of(h, moved)) / of(longest, moved);
    },
    at: (h) => {
      const [x, y] = [of(h, b), slope(h)];
      const variance =
        j === 1 || !(determinant > 1e-12 * aa * bb)
          ? (x * x) / aa
          : (x * x * bb - 2 * x * y * ab + y * y * aa) / determinant;
      return { c: a * x, variance: excess * variance };
    },
  };
}

/** The place of the least value, even in the logarithm at first, then closer and closer. */
function least(f: (b: number) => number, low: number, high: number): number {
  let [from, to] = [Math.log(low), Math.log(high)];
  for (let round = 0; round < 12 && to > from; round++) {
    const step = (to - from) / 40;
    const places = Array.from({ length: 41 }, (_, i) => from + i * step);
    const best = places.reduce((found, place) => (f(Math.exp(place)) < f(Math.exp(found)) ? place : found));
    [from, to] = [Math.max(from, best - step), Math.min(to, best + step)];
  }
  return Math.exp((from + to) / 2);
}

function piecewise(groups: readonly Group[], r: number): Curve {
  const pools: { m: number; n: number; of: number }[] = [];
  for (const { m, all } of groups) {
    pools.push({ m, n: all.length, of: 1 });
    while (pools.length > 1 && pools.at(-2)!.m > pools.at(-1)!.m) {
      const [b, a] = [pools.pop()!, pools.pop()!];
      pools.push({ m: (a.m * a.n + b.m * b.n) / (a.n + b.n), n: a.n + b.n, of: a.of + b.of });
    }
  }
  const means = pools.flatMap(({ m, of }) => Array.from({ length: of }, () => m));
  const knots = [
    { h: 0, c: 0, v: 0 },
    ...groups.map(({ h, m, all }, i) => ({ h, c: means[i]!, v: (r * m) ** 2 / all.length })),
  ];
  if (groups.length === 1) {
    const [{ h: only, m, all }] = groups as [Group];
    return {
      at: (h) => (Math.abs(h - only) <= 0.02 * only ? { c: m, variance: (r * m) ** 2 / all.length } : undefined),
    };
  }
  return {
    at: (h) => {
      const index = Math.max(
        1,
        knots.findIndex((knot, i) => i > 0 && knot.h >= h),
      );
      const [a, b] = [knots[index - 1]!, knots[index]!];
      const part = (h - a.h) / (b.h - a.h);
      return { c: (1 - part) * a.c + part * b.c, variance: (1 - part) ** 2 * a.v + part ** 2 * b.v };
    },
  };
}

function judge(
  lost: readonly Lost[],
  { f, b, s, freedom: ofFactor }: Factor,
  asked: Json,
  section: Json,
  measured: readonly Json[],
  simulation: Json,
): Answer[] {
  const groups = groupsOf(lost);
  const { r, freedom: estimated } = spreadOf(groups);
  const freedom = falls(groups, r) ? 0 : estimated;
  const curve = lawOf(groups, r) ?? piecewise(groups, r);
  const longest = groups.at(-1)!.h;
  const relative = Math.sqrt(meanOf(lost.map(({ d, u }) => (u / Math.max(d, 0.01)) ** 2)));
  const depthAt = (h: number, factor: number, more: number, one = 0): Depth | undefined => {
    const then = groups.length === 1 ? h : Math.min(h, longest);
    const at = h > longest * 1.02 ? undefined : curve.at(then);
    if (at === undefined) return undefined;
    const a =
      freedom === 0
        ? Number.POSITIVE_INFINITY
        : Math.hypot(t(freedom) * Math.sqrt(at.variance + (r * at.c) ** 2), normalQuantile(0.95) * relative * at.c);
    const half = [product(factor, a), product(at.c, more), product(a, more)].includes(Number.POSITIVE_INFINITY)
      ? Number.POSITIVE_INFINITY
      : Math.hypot(factor * a, at.c * more, a * more);
    const first = { least: Math.max(0, factor * at.c - half), most: factor * at.c + half };
    if (simulation === undefined || half === Number.POSITIVE_INFINITY || !(curve.isBent || one > 0)) return first;
    const line = curve.moved ?? ((_: number, z1: number) => at.c + Math.sqrt(at.variance) * z1);
    const drawn = endsOf(
      standardDraws(simulation, freedom, one > 0 ? ofFactor : undefined).map(([z1, z2, z3, z4, z5]) => {
        const loss = line(then, z1!, z2!) + r * at.c * z3! + relative * at.c * z4!;
        return Math.max(0, loss) * Math.max(1, factor + one * z5!);
      }),
    );
    return {
      least: drawn.near.least < first.least ? drawn.least : first.least,
      most: drawn.near.most > first.most ? drawn.most : first.most,
    };
  };
  const ownDepth = (until: number): number =>
    section.shape === 'table'
      ? 0
      : Math.max(
          0,
          ...measured
            .filter((one) => one.minimumSectionMm !== undefined && hours(one) <= until)
            .map((one) => (1000 * (Number(section.sizeMm) - Number(one.minimumSectionMm))) / 2),
        );
  const keeps = (depth: number, isMost: boolean): boolean => {
    const { strength, stiffness } = leftOf(section, depth, isMost);
    return strength >= Number(asked.strengthLeft) && stiffness >= Number(asked.stiffnessLeft ?? 0);
  };
  const until = 168 * asked.holdWeeks;
  const known = (h: number, by = h) => {
    const depth = depthAt(h, f, b, s);
    return depth && { least: Math.max(depth.least, ownDepth(by)), most: Math.max(depth.most, ownDepth(by)) };
  };
  const isUnread =
    section.shape === 'table' && measured.some((one) => one.minimumSectionMm !== undefined && hours(one) <= until);
  const holds = (): Answer => {
    if (!keeps(ownDepth(until), false)) return 'no';
    const byLoss = holdsByLoss();
    return byLoss === 'yes' && isUnread ? 'unknown' : byLoss;
  };
  const holdsByLoss = (): Answer => {
    const then = known(until);
    if (then) return keeps(then.most, true) ? 'yes' : keeps(then.least, false) ? 'unknown' : 'no';
    const last = known(longest, Math.max(longest, until))!;
    if (longest >= until) return keeps(last.most, true) ? 'yes' : 'unknown';
    return keeps(last.least, false) ? 'unknown' : 'no';
  };
  const gone = (): Answer => {
    const by = 168 * asked.goneByWeeks;
    const depth = depthAt(Math.min(by, longest), 1, 0);
    if (depth === undefined) return 'unknown';
    const none =
      section.shape === 'table'
        ? section.rows.find((row: Json) => Number(row.areaMm2) === 0)?.depthUm
        : 500 * section.sizeMm;
    if (none !== undefined && depth.least >= Number(none)) return 'yes';
    return longest >= by && depth.most < Number(none ?? section.rows.at(-1).depthUm) ? 'no' : 'unknown';
  };
  return asked.goneByWeeks === undefined ? [holds()] : [holds(), gone()];
}

function leftOf(
  section: Json,
  depth: number,
  isMost: boolean,
): { readonly strength: number; readonly stiffness: number } {
  if (section.shape !== 'table') {
    const q = Math.max(0, 1 - (2 * depth) / (1000 * Number(section.sizeMm)));
    const powers = section.shape === 'plate' ? [2, 3] : [3, 4];
    return { strength: q ** powers[0]!, stiffness: q ** powers[1]! };
  }
  const rows: Json[] = section.rows;
  const next = rows.findIndex((row) => Number(row.depthUm) >= depth);
  const of = (name: string): number => {
    if (next === -1) return isMost ? 0 : rows.at(-1)[name] / rows[0][name];
    if (next === 0) return 1;
    const [a, b] = [rows[next - 1], rows[next]];
    const part = (depth - a.depthUm) / (b.depthUm - a.depthUm);
    return (Number(a[name]) + part * (b[name] - a[name])) / rows[0][name];
  };
  return { strength: of('sectionModulusMm3'), stiffness: of('secondMomentMm4') };
}
