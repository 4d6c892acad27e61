import { chartSignals } from './chart-signals.js';
import { individualsChart } from './individuals-chart.js';

/** Limits from more points than these are as good as known. */
const ENOUGH = 500;
const TRIES = 201;
/** A try that lasts longer tells no more. */
export const LONGEST_RUN = 4096;
const SEED = 20_310_211;

const known = new Map<string, number>();

/**
 * After how many points a chart of rules signals although nothing changed, in the middle one of 201 simulated cells, whose
 * limits come from a baseline of as many normal points as here. At most `LONGEST_RUN`. The same numbers every time.
 */
export function medianFalseRun(rules: readonly string[], baselinePoints: number): number {
  const n = Math.min(baselinePoints, ENOUGH);
  const name = JSON.stringify([[...rules].sort(), n]);
  const found = known.get(name) ?? simulated(rules, n);
  known.set(name, found);
  return found;
}

function simulated(rules: readonly string[], n: number): number {
  const next = normalStream(SEED);
  const runs: number[] = [];
  for (let attempt = 0; attempt < TRIES; attempt += 1) {
    const limits = individualsChart(Array.from({ length: n }, next), 'exact');
    const values: number[] = [];
    let run = LONGEST_RUN;
    for (let length = 128; length <= LONGEST_RUN; length *= 2) {
      while (values.length < length) values.push(next());
      const [first] = chartSignals(values, limits, rules);
      if (first) {
        run = first.last + 1;
        break;
      }
    }
    runs.push(run);
  }
  runs.sort((a, b) => a - b);
  return runs[(TRIES - 1) / 2]!;
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
