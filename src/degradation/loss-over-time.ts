import { CalculationError } from '../base/errors.js';
import { requireNonNegative, requirePositive } from '../statistics/guards.js';
import { varianceComponents } from '../statistics/variance-components.js';
import { chosenLaw, type FittedLaw, fitLaws, type WeighedLoss } from './loss-laws.js';

/** The mean depth that one specimen lost on each face that met the medium, in one exposure. */
export interface SpecimenLoss {
  readonly hours: number;
  readonly depthUm: number;
  /** Standard uncertainty of the measuring: mass, area, density, blank. */
  readonly standardUncertaintyUm: number;
  /** Closure in which the specimen was built; specimens without one count as of one build. */
  readonly build?: string | undefined;
}

/** What specimens of one duration lost. */
export interface DurationLoss {
  readonly hours: number;
  readonly n: number;
  readonly builds: number;
  readonly meanUm: number;
  /** Spread of specimens of one build; absent for one specimen. */
  readonly withinUm?: number;
  /** Spread of builds beyond it; absent for one build. */
  readonly betweenUm?: number;
  /** Of the measuring, root mean square: it is not made smaller by more specimens. */
  readonly measuringUm: number;
}

/** How well the loss of a specimen is known at a time: the part of each source, all in µm. */
export interface LossAt {
  readonly depthUm: number;
  /** Of the curve itself. */
  readonly curveUm: number;
  /** Of one specimen about the curve, within and between builds. */
  readonly specimensUm: number;
  readonly measuringUm: number;
  readonly standardUncertaintyUm: number;
}

/** Spread of specimens as a part of the loss. */
export interface RelativeSpread {
  /** Standard deviation of one specimen over the loss; 0 without degrees of freedom, where it is not known. */
  readonly relative: number;
  readonly degreesOfFreedom: number;
}

export interface LossOverTime {
  readonly durations: readonly DurationLoss[];
  readonly spread: RelativeSpread;
  readonly laws: readonly FittedLaw[];
  /** The law that the curve follows; undefined for one duration, and where no law fits. */
  readonly law: FittedLaw | undefined;
  readonly why: LawReason;
  /** Mean losses that fall from one duration to the next longer one by more than twice what is known of them. */
  readonly falls: readonly { readonly fromHours: number; readonly toHours: number }[];
  readonly longestHours: number;
  /** The loss at a time; undefined beyond the longest exposure, and for one duration at any other time. */
  at(hours: number): LossAt | undefined;
  /**
   * The curve at a time, where `at` tells one, moved by two standard normal numbers: along the parameters of its law, or as far
   * as it is known where it follows none.
   */
  movedAt(hours: number): (first: number, second: number) => number;
  /** Whether the loss bends with a parameter of its law, so that first order may not be enough. */
  readonly isBent: boolean;
}

export type LawReason = 'one duration' | 'two durations' | 'least criterion' | 'fewest parameters' | 'no law fits';

/** Durations that differ by less than this part of the longer one count as one. */
const SAME_DURATION = 0.02;
/** A law that would be missed so seldom by chance is not followed: the curve then goes from mean to mean. */
const LEAST_P = 0.01;

/**
 * Loss against time from exposures of several durations, in one medium, by one protocol and on one face: pooling is
 * the caller's. It passes through no loss at the start. The curve follows the law chosen, or goes straight from mean to
 * mean where none fits, and never falls. Nothing is stated beyond the longest exposure.
 * Source: docs/formulas.md, loss-over-time.
 * @throws CalculationError for no losses, a negative loss or uncertainty, or a time not above zero.
 */
export function lossOverTime(losses: readonly SpecimenLoss[]): LossOverTime {
  if (losses.length === 0) throw new CalculationError('losses', 'needs at least one exposure');
  losses.forEach(({ hours, depthUm, standardUncertaintyUm }, index) => {
    requirePositive(hours, `losses.${index}.hours`);
    requireNonNegative(depthUm, `losses.${index}.depthUm`);
    requireNonNegative(standardUncertaintyUm, `losses.${index}.standardUncertaintyUm`);
  });
  const groups = byDuration(losses);
  const durations = groups.map(durationLoss);
  const known = relativeSpread(durations);
  const spread = known.relative;
  const weighed = groups.flatMap((group, index) =>
    group.map(({ hours, depthUm, standardUncertaintyUm }): WeighedLoss => {
      const variance = standardUncertaintyUm ** 2 + (spread * durations[index]!.meanUm) ** 2;
      return { hours, depthUm, varianceUm2: Math.max(variance, LEAST_UM2) };
    }),
  );
  const laws = fitLaws(weighed, durations.length);
  const { law, why } = choose(laws, durations.length);
  const longestHours = durations.at(-1)!.hours;
  const measuring = rootMeanSquare(
    losses.map(({ depthUm, standardUncertaintyUm }) => standardUncertaintyUm / Math.max(depthUm, Math.sqrt(LEAST_UM2))),
  );
  const withParts = (depthUm: number, curveUm: number): LossAt => {
    const [specimensUm, measuringUm] = [spread * depthUm, measuring * depthUm];
    return {
      ...{ depthUm, curveUm, specimensUm, measuringUm },
      standardUncertaintyUm: Math.hypot(curveUm, specimensUm, measuringUm),
    };
  };
  const means = rising(durations);
  const at = (hours: number): LossAt | undefined => {
    if (!(hours > 0) || hours > longestHours * (1 + SAME_DURATION)) return undefined;
    if (durations.length === 1) {
      const [only] = durations;
      const isThen = Math.abs(hours - only!.hours) <= SAME_DURATION * only!.hours;
      return isThen ? withParts(only!.meanUm, curveOfMean(only!, spread)) : undefined;
    }
    const then = Math.min(hours, longestHours);
    if (law) {
      const depthUm = law.at(then);
      return withParts(depthUm, Math.sqrt(law.varianceAt(then)));
    }
    const { depthUm, curveUm } = between(durations, means, spread, then);
    return withParts(depthUm, curveUm);
  };
  return {
    ...{ durations, spread: known, laws, law, why, longestHours, at },
    falls: fallsOf(durations, spread),
    isBent: law?.b !== undefined,
    movedAt(hours) {
      if (law) return law.movedAt(Math.min(hours, longestHours));
      const { depthUm = 0, curveUm = 0 } = at(hours) ?? {};
      return (first) => depthUm + curveUm * first;
    },
  };
}

/** A hundredth of a micrometre: less is told apart by no balance. */
const LEAST_UM2 = 1e-4;

function byDuration(losses: readonly SpecimenLoss[]): SpecimenLoss[][] {
  const groups: SpecimenLoss[][] = [];
  for (const loss of [...losses].sort((a, b) => a.hours - b.hours)) {
    const first = groups.at(-1)?.[0];
    if (first && loss.hours - first.hours <= SAME_DURATION * loss.hours) groups.at(-1)!.push(loss);
    else groups.push([loss]);
  }
  return groups;
}

function durationLoss(group: readonly SpecimenLoss[]): DurationLoss {
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const depths = group.map(({ depthUm }) => depthUm);
  const builds = [...new Set(group.map(({ build }) => build ?? ''))].map((build) =>
    group.filter((loss) => (loss.build ?? '') === build).map(({ depthUm }) => depthUm),
  );
  const meanUm = mean(depths);
  return {
    hours: mean(group.map(({ hours }) => hours)),
    n: group.length,
    builds: builds.length,
    meanUm,
    ...spreadOf(builds, depths, meanUm),
    measuringUm: rootMeanSquare(group.map(({ standardUncertaintyUm }) => standardUncertaintyUm)),
  };
}

/** Within and between builds by analysis of variance, where there are several builds of which one has two specimens. */
function spreadOf(builds: readonly (readonly number[])[], depths: readonly number[], mean: number) {
  if (depths.length < 2) return {};
  const isSpread = builds.some((build) => build.some((depth) => depth !== build[0]));
  if (builds.length > 1 && isSpread) {
    const { within, between } = varianceComponents(builds, 'anova');
    return { withinUm: Math.sqrt(within), betweenUm: Math.sqrt(Math.max(0, between)) };
  }
  const squares = depths.reduce((sum, depth) => sum + (depth - mean) ** 2, 0);
  return { withinUm: Math.sqrt(squares / (depths.length - 1)) };
}

/**
 * Spread of specimens as a part of the loss, which it grows with, pooled over durations by their degrees of freedom. Where
 * several builds stand beside each other, no more is known of the spread than these builds tell: one less than they are.
 */
function relativeSpread(durations: readonly DurationLoss[]): RelativeSpread {
  let [sum, degreesOfFreedom] = [0, 0];
  for (const { n, builds, meanUm, withinUm, betweenUm = 0 } of durations) {
    if (withinUm === undefined || meanUm === 0) continue;
    const freedom = builds > 1 ? builds - 1 : n - 1;
    sum += freedom * ((withinUm ** 2 + betweenUm ** 2) / meanUm ** 2);
    degreesOfFreedom += freedom;
  }
  return { relative: degreesOfFreedom > 0 ? Math.sqrt(sum / degreesOfFreedom) : 0, degreesOfFreedom };
}

function choose(laws: readonly FittedLaw[], durations: number): { law: FittedLaw | undefined; why: LawReason } {
  const law = chosenLaw(laws);
  if (!law) return { law, why: 'one duration' };
  if (law.p < LEAST_P || !(law.a > 0)) return { law: undefined, why: 'no law fits' };
  if (durations === 2) return { law, why: 'two durations' };
  const least = Math.min(...laws.map(({ aicc = Number.POSITIVE_INFINITY }) => aicc));
  return { law, why: law.aicc === least ? 'least criterion' : 'fewest parameters' };
}

/** Means that never fall: what falls is pooled with its neighbour, weighed by specimens (pool adjacent violators). */
function rising(durations: readonly DurationLoss[]): number[] {
  const pools: { mean: number; n: number; durations: number }[] = [];
  for (const { meanUm, n } of durations) {
    pools.push({ mean: meanUm, n, durations: 1 });
    while (pools.length > 1 && pools.at(-2)!.mean > pools.at(-1)!.mean) {
      const [b, a] = [pools.pop()!, pools.pop()!];
      const both = a.n + b.n;
      pools.push({
        mean: (a.mean * a.n + b.mean * b.n) / both,
        n: both,
        durations: a.durations + b.durations,
      });
    }
  }
  return pools.flatMap(({ mean, durations: count }) => Array.from({ length: count }, () => mean));
}

const curveOfMean = ({ n, meanUm }: DurationLoss, spread: number): number => (spread * meanUm) / Math.sqrt(n);

/** Straight from mean to mean, the first from no loss at the start; variances go with the squares of the parts. */
function between(durations: readonly DurationLoss[], means: readonly number[], spread: number, hours: number) {
  const next = durations.findIndex((one) => one.hours >= hours);
  const index = next === -1 ? durations.length - 1 : next;
  const [before, after] = [durations[index - 1], durations[index]!];
  const start = before?.hours ?? 0;
  const part = (hours - start) / (after.hours - start);
  const from = before ? { depth: means[index - 1]!, u: curveOfMean(before, spread) } : { depth: 0, u: 0 };
  return {
    depthUm: (1 - part) * from.depth + part * means[index]!,
    curveUm: Math.hypot((1 - part) * from.u, part * curveOfMean(after, spread)),
  };
}

function fallsOf(durations: readonly DurationLoss[], spread: number) {
  return durations.slice(1).flatMap((after, index) => {
    const before = durations[index]!;
    const known = (one: DurationLoss) => Math.hypot(curveOfMean(one, spread), one.measuringUm);
    const isFall = before.meanUm - after.meanUm > 2 * Math.hypot(known(before), known(after));
    return isFall ? [{ fromHours: before.hours, toHours: after.hours }] : [];
  });
}

const rootMeanSquare = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value ** 2, 0) / values.length);
