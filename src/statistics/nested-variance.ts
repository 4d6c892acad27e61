import { CalculationError } from '../base/errors.js';
import { requireFinite, requireNonNegative, requirePositive } from './guards.js';
import { CompensatedSum, moments } from './summary.js';

/** A value, or a list of the same kind of things one level further down. */
export type Nested = number | readonly Nested[];

export interface NestedAnovaLine {
  /** 1 is the top level; the last level is that of the single values. */
  readonly level: number;
  readonly sumSquares: number;
  readonly df: number;
  readonly meanSquare: number;
}

export interface NestedVariance {
  readonly grandMean: number;
  readonly anova: readonly NestedAnovaLine[];
  /** Variance of each level; a negative estimate is given as it is. */
  readonly components: readonly { readonly level: number; readonly variance: number }[];
}

/**
 * Fully nested, balanced analysis of variance to any depth: each level is random and lies wholly inside one member of
 * the level above. Variance of a level = (its mean square − the mean square below) / number of values in one of its
 * members. Source: NIST/SEMATECH e-Handbook 6.6.1; Searle, Casella and McCulloch, Variance Components.
 * @throws CalculationError for fewer than two levels, an unbalanced design, or a level with a single member.
 */
export function nestedVariance(data: Nested): NestedVariance {
  const sizes = requireBalanced(data);
  const origin = firstValue(data);
  const deviations = sizes.map(() => new CompensatedSum());
  const mean = addDeviations(data, origin, 0, deviations);
  const anova = sizes.map((size, depth) => {
    const valuesInMember = product(sizes.slice(depth + 1));
    const sumSquares = valuesInMember * deviations[depth]!.total;
    const df = product(sizes.slice(0, depth)) * (size - 1);
    return { level: depth + 1, sumSquares, df, meanSquare: sumSquares / df };
  });
  const components = anova.map(({ level, meanSquare }) => {
    const below = anova[level]?.meanSquare ?? 0;
    return { level, variance: (meanSquare - below) / product(sizes.slice(level)) };
  });
  return { grandMean: origin + mean, anova, components };
}

/**
 * Standard deviation pooled from groups: √(Σ df s² / Σ df).
 * @throws CalculationError for empty or unequal lists, a negative standard deviation, or degrees of freedom not above 0.
 */
export function pooledSd(sds: readonly number[], degreesOfFreedom: readonly number[]): number {
  if (sds.length === 0) throw new CalculationError('sds', 'needs at least one standard deviation');
  if (sds.length !== degreesOfFreedom.length) {
    throw new CalculationError('degreesOfFreedom', `found ${degreesOfFreedom.length}, expected ${sds.length}`);
  }
  let squares = 0;
  let total = 0;
  sds.forEach((sd, index) => {
    const df = degreesOfFreedom[index]!;
    requireNonNegative(sd, `sds.${index}`);
    requirePositive(df, `degreesOfFreedom.${index}`);
    squares += df * sd * sd;
    total += df;
  });
  return Math.sqrt(squares / total);
}

/** Adds up, for every level, the squared deviations of its members from their common mean; answers the mean. */
function addDeviations(data: Nested, origin: number, depth: number, deviations: readonly CompensatedSum[]): number {
  if (typeof data === 'number') return data - origin;
  const means = data.map((member) => addDeviations(member, origin, depth + 1, deviations));
  const { mean, sumSquares } = moments(means);
  deviations[depth]!.add(sumSquares);
  return mean;
}

function firstValue(data: Nested): number {
  return typeof data === 'number' ? data : firstValue(data[0]!);
}

/** The number of members at each level, from the top. */
function requireBalanced(data: Nested): number[] {
  const sizes: number[] = [];
  let first: Nested = data;
  while (typeof first !== 'number') {
    if (first.length < 2) {
      throw new CalculationError('data', `level ${sizes.length + 1} has ${first.length} members, needs at least 2`);
    }
    sizes.push(first.length);
    first = first[0]!;
  }
  if (sizes.length < 2) throw new CalculationError('data', 'needs at least two levels: lists of values inside a list');
  requireSizes(data, sizes, 'data');
  return sizes;
}

function requireSizes(data: Nested, sizes: readonly number[], field: string): void {
  const [size, ...below] = sizes;
  if (typeof data === 'number') {
    if (size !== undefined) throw new CalculationError(field, `found a value, expected a list of ${size}`);
    requireFinite(data, field);
    return;
  }
  if (size === undefined) throw new CalculationError(field, 'found a list, expected a value: the depth must be equal');
  if (data.length !== size) {
    throw new CalculationError(field, `found ${data.length} members, expected ${size}: the design must be balanced`);
  }
  data.forEach((member, index) => {
    requireSizes(member, below, `${field}.${index}`);
  });
}

function product(factors: readonly number[]): number {
  return factors.reduce((result, factor) => result * factor, 1);
}
