import { chartSignals } from './chart-signals.js';
import { individualsChart } from './individuals-chart.js';

/** Limits from more points than these are as good as known. */
const ENOUGH = 500;
/** The middle of so many is known to about 7 %. */
const TRIES = 401;
const MIDDLE = (TRIES - 1) / 2;
/** So many points are drawn at first, and twice as many each time. */
const SHORTEST_LOOK = 64;
/** A try that lasts longer tells no more. */
export const LONGEST_RUN = 4096;
const SEED = 20_310_211;

const known = new Map<string, number>();

/**
 * After how many points a chart of rules signals although nothing changed, in the middle one of 401 simulated cells, whose
 * limits come from a baseline of as many normal points as here. At most `LONGEST_RUN`. The same numbers every time.
 */
export function medianFalseRun(rules: readonly string[], baselinePoints: number): number {
  const n = Math.min(baselinePoints, ENOUGH);
  const name = JSON.stringify([[...rules].sort(), n]);
  const found = known.get(name) ?? simulated(rules, n);
  known.set(name, found);
  return found;
}

/** All cells go on side by side, and only until half of them have signalled: how much longer the others last tells no more. */
function simulated(rules: readonly string[], n: number): number {
  const next = normalStream(SEED);
  const cells = Array.from({ length: TRIES }, () => {
    const limits = individualsChart(Array.from({ length: n }, next), 'exact');
    return { limits, values: [] as number[] };
  });
  const runs: number[] = [];
  let quiet = cells;
  for (let length = SHORTEST_LOOK; length <= LONGEST_RUN; length *= 2) {
    quiet = quiet.filter(({ limits, values }) => {
      while (values.length < length) values.push(next());
      const [first] = chartSignals(values, limits, rules);
      if (first) runs.push(first.last + 1);
      return first === undefined;
    });
    if (runs.length > MIDDLE) return runs.sort((a, b) => a - b)[MIDDLE]!;
  }
  return LONGEST_RUN;
}

/**
 * Standard normal numbers from a 32-bit generator (xorshift of Marsaglia, J. Statistical Software 8, 2003; Box and Muller).
 * Engines may differ in the last bits of these, which no count of points shows.
 */
export function normalStream(seed: number): () => number {
  let state = seed | 0;
  const uniform = () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return ((state >>> 0) + 0.5) / 4_294_967_296;
  };
  let spare: number | undefined;
  return () => {
    if (spare !== undefined) {
      const kept = spare;
      spare = undefined;
      return kept;
    }
    const radius = Math.sqrt(-2 * Math.log(uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
}
