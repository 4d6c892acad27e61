import { chiSquareUpper } from '../statistics/distributions.js';

/** What went by one time, with the variance that weighs it. */
export interface WeighedLoss {
  readonly hours: number;
  readonly depthUm: number;
  /** Of the measuring and of the spread of specimens together, above zero. */
  readonly varianceUm2: number;
}

export type LawName = 'linear' | 'power' | 'saturating';

/** A law of loss against time through the origin, never falling. */
export interface FittedLaw {
  readonly law: LawName;
  /** `depthUm = a h`, `a h^b`, or `a (1 − exp(−h/b))`; `b` is absent for the linear one. */
  readonly a: number;
  readonly b?: number;
  readonly chiSquare: number;
  readonly degreesOfFreedom: number;
  /** P(a χ² as large), 1 without degrees of freedom. */
  readonly p: number;
  /** Akaike's criterion for few values; absent where they are too few for it. */
  readonly aicc?: number;
  at(hours: number): number;
  /** Variance of the fitted loss at a time, first order, in µm². */
  varianceAt(hours: number): number;
  /**
   * The loss at a time when the law is moved by two standard normal numbers: along the joint distribution of its loss at the
   * longest exposure and of `b`, which stays among the values in which it was sought. `a` and `b` themselves are tied so closely
   * that normal numbers for both would bend what is nearly straight.
   */
  movedAt(hours: number): (first: number, second: number) => number;
}

/** The shape of a law for one `b`: the loss is `a` times it, and `slope` is its derivative by `b`. */
interface Shape {
  readonly value: (hours: number, b: number) => number;
  readonly slope: (hours: number, b: number) => number;
  /** Values of `b` among which the best is sought, smallest and largest. */
  readonly range: (longest: number) => readonly [number, number];
}

const SHAPES: Readonly<Record<Exclude<LawName, 'linear'>, Shape>> = {
  power: {
    value: (hours, b) => hours ** b,
    slope: (hours, b) => hours ** b * Math.log(hours),
    range: () => [0.05, 5],
  },
  saturating: {
    value: (hours, b) => -Math.expm1(-hours / b),
    slope: (hours, b) => -Math.exp(-hours / b) * (hours / b ** 2),
    range: (longest) => [longest / 50, longest * 50],
  },
};

/** Values of `b` looked at before the best is narrowed down, even in its logarithm. */
const GRID = 60;

/**
 * The laws that so many durations allow, fitted by weighted least squares: one duration none, two the linear one, three
 * and more all. Source: weighted least squares with the Gauss–Newton covariance (Bates and Watts, Nonlinear Regression);
 * Hurvich and Tsai, Biometrika 76 (1989) for the criterion. Where a law leaves more than its variances explain, its own
 * variance grows by χ² over the degrees of freedom.
 */
export function fitLaws(losses: readonly WeighedLoss[], durations: number): FittedLaw[] {
  if (durations < 2) return [];
  const linear = fitted(
    'linear',
    losses,
    scaleOf(losses, (hours) => hours),
  );
  if (durations < 3) return [linear];
  return [linear, curved('power', losses), curved('saturating', losses)];
}

/**
 * The law with the smallest criterion; of those within 2 of it the one with fewest parameters, which comes first.
 * @throws nothing; undefined for no laws.
 */
export function chosenLaw(laws: readonly FittedLaw[]): FittedLaw | undefined {
  const known = laws.flatMap(({ aicc }) => (aicc === undefined ? [] : [aicc]));
  const least = Math.min(...known);
  return laws.find(({ aicc }) => aicc !== undefined && aicc <= least + 2) ?? laws[0];
}

function curved(law: Exclude<LawName, 'linear'>, losses: readonly WeighedLoss[]): FittedLaw {
  const { value, range } = SHAPES[law];
  const [low, high] = range(Math.max(...losses.map(({ hours }) => hours))).map(Math.log) as [number, number];
  const misfit = (logB: number) => {
    const shape = (hours: number) => value(hours, Math.exp(logB));
    return chiSquareOf(losses, shape, scaleOf(losses, shape));
  };
  const step = (high - low) / GRID;
  const places = Array.from({ length: GRID + 1 }, (_, index) => low + index * step);
  const best = places.reduce((found, place) => (misfit(place) < misfit(found) ? place : found));
  const b = Math.exp(leastIn(misfit, Math.max(low, best - step), Math.min(high, best + step)));
  return fitted(
    law,
    losses,
    scaleOf(losses, (hours) => value(hours, b)),
    b,
  );
}

/** Golden section: the place of the least value between two ends. */
function leastIn(f: (x: number) => number, from: number, to: number): number {
  const golden = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [from, to];
  for (let round = 0; round < 60; round += 1) {
    const width = golden * (high - low);
    if (f(high - width) <= f(low + width)) high = low + width;
    else low = high - width;
  }
  return (low + high) / 2;
}

/** The best `a` for a shape: a line through the origin. */
function scaleOf(losses: readonly WeighedLoss[], shape: (hours: number) => number): number {
  let [products, squares] = [0, 0];
  for (const { hours, depthUm, varianceUm2 } of losses) {
    const x = shape(hours);
    products += (x * depthUm) / varianceUm2;
    squares += (x * x) / varianceUm2;
  }
  return products / squares;
}

function chiSquareOf(losses: readonly WeighedLoss[], shape: (hours: number) => number, a: number): number {
  return losses.reduce((sum, { hours, depthUm, varianceUm2 }) => {
    const rest = depthUm - a * shape(hours);
    return sum + (rest * rest) / varianceUm2;
  }, 0);
}

function fitted(law: LawName, losses: readonly WeighedLoss[], a: number, b?: number): FittedLaw {
  const shape = (hours: number) => (law === 'linear' ? hours : SHAPES[law].value(hours, b!));
  const slope = (hours: number) => (law === 'linear' || hours === 0 ? 0 : a * SHAPES[law].slope(hours, b!));
  const parameters = law === 'linear' ? 1 : 2;
  const degreesOfFreedom = losses.length - parameters;
  const chiSquare = chiSquareOf(losses, shape, a);
  const covariance = covarianceOf(losses, shape, slope, parameters);
  const excess = degreesOfFreedom > 0 ? Math.max(1, chiSquare / degreesOfFreedom) : 1;
  const spare = degreesOfFreedom - 1;
  const longest = Math.max(...losses.map(({ hours }) => hours));
  const [ofA, ofB] = [shape(longest), slope(longest)];
  const [varianceA, covarianceAB, varianceB] = covariance.map((one) => excess * one) as [number, number, number];
  const alongLoss = Math.sqrt(ofA * ofA * varianceA + 2 * ofA * ofB * covarianceAB + ofB * ofB * varianceB);
  const bWithLoss = (ofA * covarianceAB + ofB * varianceB) / alongLoss;
  const bAlone = Math.sqrt(Math.max(0, varianceB - bWithLoss ** 2));
  return {
    law,
    a,
    ...(b === undefined ? {} : { b }),
    chiSquare,
    degreesOfFreedom,
    p: degreesOfFreedom > 0 ? chiSquareUpper(chiSquare, degreesOfFreedom) : 1,
    ...(spare > 0 ? { aicc: chiSquare + 2 * parameters + (2 * parameters * (parameters + 1)) / spare } : {}),
    at: (hours) => a * shape(hours),
    varianceAt: (hours) => {
      const [x, y] = [shape(hours), slope(hours)];
      return excess * (x * x * covariance[0] + 2 * x * y * covariance[1] + y * y * covariance[2]);
    },
    movedAt: (hours) => {
      const last = a * ofA;
      if (law === 'linear') return (first) => ((last + alongLoss * first) * hours) / longest;
      const { value, range } = SHAPES[law];
      const [low, high] = range(longest);
      return (first, second) => {
        const moved = Math.min(high, Math.max(low, b! + bWithLoss * first + bAlone * second));
        return ((last + alongLoss * first) * value(hours, moved)) / value(longest, moved);
      };
    },
  };
}

/** Var(a), Cov(a, b) and Var(b): the inverse of the weighted normal matrix. */
function covarianceOf(
  losses: readonly WeighedLoss[],
  shape: (hours: number) => number,
  slope: (hours: number) => number,
  parameters: number,
): readonly [number, number, number] {
  let [aa, ab, bb] = [0, 0, 0];
  for (const { hours, varianceUm2 } of losses) {
    const [x, y] = [shape(hours), slope(hours)];
    aa += (x * x) / varianceUm2;
    ab += (x * y) / varianceUm2;
    bb += (y * y) / varianceUm2;
  }
  const determinant = aa * bb - ab * ab;
  // All durations on a plateau say nothing of how fast it was reached.
  if (parameters === 1 || !(determinant > 1e-12 * aa * bb)) return [1 / aa, 0, 0];
  return [bb / determinant, -ab / determinant, aa / determinant];
}
