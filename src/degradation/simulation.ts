import { isReached, type Simulation as Stated } from '../kinds/degradation/simulation.js';
import { normalQuantile } from '../statistics/distributions.js';
import { chiSquareFrom, inOrder, normalPair, type RandomSeed, uniformFrom } from '../statistics/random-numbers.js';

/** From which seed numbers are drawn, and how many. */
export type Simulation = Pick<Stated, 'seed' | 'draws'>;

export { isReached, SIMULATION, Simulation as StatedSimulation } from '../kinds/degradation/simulation.js';

/** Both ends of the interval of which each has this confidence by itself. */
export interface Ends {
  readonly lower: number;
  readonly upper: number;
}

/** Ends by draws, and how near they may as well lie: what draws alone show of an end is no more than that. */
export interface DrawnEnds extends Ends {
  readonly near: Ends;
}

/** Ends come from functions that machines round differently in the last places. */
const DIGITS = 9;
const told = (value: number): number => (Number.isFinite(value) ? Number(value.toPrecision(DIGITS)) : value);

/** How many standard deviations of a rank an end has to lie beyond first order: by chance less than one in 700 does. */
const BY_CHANCE = 3;

/**
 * The ends between which draws lie, by their ranks (JCGM 101:2008, 7.7): of N draws the ranks N (1 − confidence) and
 * N confidence. How many draws lie beyond an end is binomial, so that the end itself lies no nearer than the draw that
 * many ranks nearer, whatever the distribution is.
 */
function endsOf(draws: Float64Array, confidence: number): DrawnEnds {
  const place = Math.max(1, Math.round(draws.length * (1 - confidence)));
  const nearer = place + Math.round(BY_CHANCE * Math.sqrt(draws.length * confidence * (1 - confidence)));
  const at = (rank: number) => told(inOrder(draws, rank));
  return {
    ...{ lower: at(place), upper: at(draws.length - place) },
    near: { lower: at(nearer), upper: at(draws.length - nearer) },
  };
}

/** Each end by draws where it lies beyond that of first order by more than chance, else that of first order. */
export const farther = (first: Ends, { near, ...drawn }: DrawnEnds): Ends => ({
  lower: near.lower < first.lower ? drawn.lower : first.lower,
  upper: near.upper > first.upper ? drawn.upper : first.upper,
});

/**
 * How far an interval may reach beyond that of first order for that to be enough: half of the last place of the standard
 * uncertainty, of which one digit counts. Source: JCGM 101:2008, 7.9.2 and 8.1.
 */
export const toleranceOf = (standardUncertainty: number): number =>
  standardUncertainty > 0 ? 0.5 * 10 ** Math.floor(Math.log10(Number(standardUncertainty.toPrecision(1)))) : 0;

/** Normal numbers of each draw, by which a loss, its specimen, its measuring and a factor are moved; each list as long as there are draws. */
interface Standard {
  readonly curve: readonly [Float64Array, Float64Array];
  readonly specimen: Float64Array;
  readonly measuring: Float64Array;
  readonly factor: Float64Array;
}

/** What moves the deepest attack, each as standard deviation. */
export interface Moved {
  /** The curve when its parameters are moved by two standard normal numbers. */
  readonly curve: (first: number, second: number) => number;
  readonly specimensUm: number;
  readonly measuringUm: number;
  /** Of curve and specimens. */
  readonly degreesOfFreedom: number;
  readonly factor: number;
  readonly factorUncertainty: number;
  /** As well known when absent. */
  readonly factorDegreesOfFreedom?: number | undefined;
}

/**
 * Ends of the deepest attack by drawing all that moves it: the law at parameters drawn from their joint distribution, the specimen
 * about it and the measuring, times a factor not below 1. What was estimated from few is drawn from Student's t (JCGM
 * 101:2008, 6.4.9.2), curve and specimens with one scale, since they come from one estimate.
 * @param confidence that `isReached` by the draws.
 */
export function simulatedEnds(moved: Moved, { seed, draws }: Simulation, confidence: number): DrawnEnds {
  const { degreesOfFreedom, factorDegreesOfFreedom: ofFactor } = moved;
  const standard = standardOf(seed, draws, degreesOfFreedom, ofFactor);
  const deepest = new Float64Array(draws);
  for (let draw = 0; draw < draws; draw += 1) {
    const loss =
      moved.curve(standard.curve[0][draw]!, standard.curve[1][draw]!) +
      moved.specimensUm * standard.specimen[draw]! +
      moved.measuringUm * standard.measuring[draw]!;
    const factor = moved.factor + moved.factorUncertainty * standard.factor[draw]!;
    deepest[draw] = Math.max(0, loss) * Math.max(1, factor);
  }
  return endsOf(deepest, confidence);
}

/** What was drawn last: zones and exposures of a lot ask for the same. */
const kept = new Map<string, Standard | Float64Array>();
const MOST_KEPT = 8;

function keep<T extends Standard | Float64Array>(key: string, draw: () => T): T {
  const known = kept.get(key);
  if (known) return known as T;
  const drawn = draw();
  if (kept.size >= MOST_KEPT) kept.clear();
  kept.set(key, drawn);
  return drawn;
}

const standardOf = (seed: RandomSeed, draws: number, freedom: number, ofFactor: number | undefined): Standard =>
  keep(['scaled', ...seed, draws, freedom, ofFactor].join(), () => drawStandard(seed, draws, freedom, ofFactor));

/** So many standard normal numbers from the seed, pair by pair. */
const normalsOf = (seed: RandomSeed, pairs: number): Float64Array =>
  keep(['pairs', ...seed, pairs].join(), () => {
    const uniform = uniformFrom(seed);
    const normals = new Float64Array(2 * pairs);
    for (let index = 0; index < normals.length; index += 2) {
      [normals[index], normals[index + 1]] = normalPair(uniform) as [number, number];
    }
    return normals;
  });

function drawStandard(seed: RandomSeed, draws: number, freedom: number, factorFreedom: number | undefined): Standard {
  const uniform = uniformFrom(seed);
  const list = () => new Float64Array(draws);
  const [first, second, specimen, measuring, factor] = [list(), list(), list(), list(), list()];
  for (let draw = 0; draw < draws; draw += 1) {
    [first[draw], second[draw]] = normalPair(uniform) as [number, number];
    [specimen[draw], measuring[draw]] = normalPair(uniform) as [number, number];
    [factor[draw]] = normalPair(uniform) as [number, number];
  }
  for (let draw = 0; draw < draws; draw += 1) {
    const scale = Math.sqrt(freedom / chiSquareFrom(uniform, freedom));
    first[draw]! *= scale;
    second[draw]! *= scale;
    specimen[draw]! *= scale;
  }
  if (factorFreedom !== undefined) {
    for (let draw = 0; draw < draws; draw += 1) {
      factor[draw]! *= Math.sqrt(factorFreedom / chiSquareFrom(uniform, factorFreedom));
    }
  }
  return { curve: [first, second], specimen, measuring, factor };
}

/** A standard uncertainty by draws, and the least that they show whatever chance did. */
export interface DrawnUncertainty {
  readonly standardUncertainty: number;
  readonly atLeast: number;
}

/**
 * The standard uncertainty that covers both ends of a quantity computed of drawn ones: the farther of them, each of this confidence
 * by itself, over the quantile of the normal distribution. Ends are there where a standard deviation is not, since a divisor may
 * be drawn near 0. Infinite where an end has no bound, and where draws are too few for the confidence.
 * @param known value and standard uncertainty of each quantity, in the order in which they are drawn.
 * @param of computes from them; without bound where a drawn divisor is none.
 */
export function simulatedUncertainty(
  known: readonly (readonly [value: number, standardUncertainty: number])[],
  of: (values: readonly number[]) => number,
  simulation: Simulation,
  confidence: number,
): DrawnUncertainty {
  const { seed, draws } = simulation;
  if (!isReached(simulation, confidence)) return UNBOUNDED;
  const pairs = Math.ceil(known.length / 2);
  const normals = normalsOf(seed, pairs * draws);
  const found = new Float64Array(draws);
  const values = known.map(([value]) => value);
  const centre = of(values);
  for (let draw = 0; draw < draws; draw += 1) {
    const from = 2 * pairs * draw;
    for (let index = 0; index < known.length; index += 1) {
      const one = known[index]!;
      values[index] = one[0] + one[1] * normals[from + index]!;
    }
    found[draw] = of(values);
  }
  const { near, ...ends } = endsOf(found, confidence);
  const z = normalQuantile(confidence);
  const covering = ({ lower, upper }: Ends) => told(Math.max(upper - centre, centre - lower) / z);
  return { standardUncertainty: covering(ends), atLeast: covering(near) };
}

const UNBOUNDED: DrawnUncertainty = {
  ...{ standardUncertainty: Number.POSITIVE_INFINITY, atLeast: Number.POSITIVE_INFINITY },
};
