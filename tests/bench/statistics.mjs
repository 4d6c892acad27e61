const VALUES = 1_000_000;
const PER_FACTOR = 40;

/** Bounds and factors in milliseconds each, and the summary of a million values against a bare loop. */
export async function run() {
  const { exactLowerBound, ppInterval } = await import('../../dist/statistics/capability-bounds.js');
  const { oneSidedFactor, twoSidedFactor } = await import('../../dist/statistics/tolerance.js');
  const { moments } = await import('../../dist/statistics/summary.js');
  const sizes = [2, 5, 10, 30, 100, 1000, 100_000, 1_000_000];
  const design = (n) => ({ n, content: 0.95, confidence: 0.95, degreesOfFreedom: n - 1 });
  const timed = {
    'exact lower bound of Ppk, slowest n': (n) => exactLowerBound(1.67, n, 0.95),
    'interval of Pp, slowest n': (n) => ppInterval(1.67, n, 0.95),
    'one-sided tolerance factor, slowest n': (n) => oneSidedFactor(design(n)),
    'two-sided tolerance factor, exact, slowest n': (n) => twoSidedFactor(design(n), 'exact'),
  };
  const bounds = Object.entries(timed).map(([name, work]) => {
    const figure = Math.max(...sizes.map((n) => millisecondsEach(() => work(n))));
    return { name, figure };
  });
  return [...bounds, summaryAgainstLoop(moments)];
}

/** Median time of one call, after warming up. */
function millisecondsEach(work) {
  const times = Array.from({ length: PER_FACTOR }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  return times.sort((a, b) => a - b)[PER_FACTOR / 2];
}

function summaryAgainstLoop(moments) {
  const values = Float64Array.from({ length: VALUES }, (_, i) => 10 + 3 * Math.sin(i));
  const ratio = millisecondsEach(() => moments(values)) / millisecondsEach(() => bareLoop(values));
  return { name: 'n, mean, sd, min and max of a million values', figure: ratio };
}

/** The same five numbers, as anyone would first write it. */
function bareLoop(values) {
  let sum = 0;
  let min = values[0];
  let max = values[0];
  for (let i = 0; i < values.length; i++) {
    const value = values[i];
    sum += value;
    if (value < min) min = value;
    if (value > max) max = value;
  }
  const mean = sum / values.length;
  let squares = 0;
  for (let i = 0; i < values.length; i++) squares += (values[i] - mean) ** 2;
  return { n: values.length, mean, sd: Math.sqrt(squares / (values.length - 1)), min, max };
}
