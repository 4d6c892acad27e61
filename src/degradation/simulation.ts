import type { Simulation as Stated } from '../kinds/degradation/simulation.js';
import { chiSquareFrom, inOrder, normalPair, type RandomSeed, uniformFrom } from '../statistics/random-numbers.js';

/** From which seed numbers are drawn, and how many. */
export type Simulation = Pick<Stated, 'seed' | 'draws'>;

export { SIMULATION } from '../kinds/degradation/simulation.js';

/** Both ends of the interval of which each has this confidence by itself. */
export interface Ends {
  readonly lower: number;
  readonly upper: number;
}

/** Ends come from functions that machines round differently in the last places. */
const DIGITS = 9;
const told = (value: number): number => (Number.isFinite(value) ? Number(value.toPrecision(DIGITS)) : value);

/**
 * The ends between which draws lie, by their ranks (JCGM 101:2008, 7.7): of N draws the ranks N (1 − confidence) and
 * N confidence.
 */
function endsOf(draws: Float64Array, confidence: number): Ends {
  const place = Math.max(1, Math.round(draws.length * (1 - confidence)));
  return { lower: told(inOrder(draws, place)), upper: told(inOrder(draws, draws.length - place)) };
}

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
 */
export function simulatedEnds(moved: Moved, { seed, draws }: Simulation, confidence: number): Ends {
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

/** The lists drawn last: zones of a lot ask for the same. */
const kept = new Map<string, Standard>();
const MOST_KEPT = 8;

function standardOf(seed: RandomSeed, draws: number, freedom: number, factorFreedom: number | undefined): Standard {
  const key = [...seed, draws, freedom, factorFreedom].join();
  const known = kept.get(key);
  if (known) return known;
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
  const standard = { curve: [first, second] as const, specimen, measuring, factor };
  if (kept.size >= MOST_KEPT) kept.clear();
  kept.set(key, standard);
  return standard;
}

/** How many standard uncertainties each end of an interval of which both have 95 % lies away from a normal number. */
const Z95 = 1.6448536269514722;

/**
 * The standard uncertainty that covers both ends of a quantity computed of drawn ones: the farther of them, at 95 % one-sided, over
 * the quantile of the normal distribution. Ends are there where a standard deviation is not, since a divisor may be drawn near 0.
 * @param known value and standard uncertainty of each quantity, in the order in which they are drawn.
 * @param of computes from them; without bound where a drawn divisor is none.
 */
export function simulatedUncertainty(
  known: readonly (readonly [value: number, standardUncertainty: number])[],
  of: (values: readonly number[]) => number,
  { seed, draws }: Simulation,
): number {
  const uniform = uniformFrom(seed);
  const found = new Float64Array(draws);
  const values = known.map(([value]) => value);
  const centre = of(values);
  for (let draw = 0; draw < draws; draw += 1) {
    for (let index = 0; index < known.length; index += 2) {
      const pair = normalPair(uniform);
      for (const [offset, normal] of pair.entries()) {
        const one = known[index + offset];
        if (one) values[index + offset] = one[0] + one[1] * normal;
      }
    }
    found[draw] = of(values);
  }
  const { lower, upper } = endsOf(found, 0.95);
  return told(Math.max(upper - centre, centre - lower) / Z95);
}
