/** Distributions, from their definitions. Nothing here is fast; all of it is short. */

/** Upper or lower tail by series near the middle and by a continued fraction far from it. */
export function normal(z: number): number {
  const size = Math.abs(z);
  if (size > 38) return z < 0 ? 0 : 1;
  const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  if (size < 4) {
    let [term, sum] = [size, size];
    for (let i = 1; Math.abs(term) > 1e-18; i++) {
      term *= (size * size) / (2 * i + 1);
      sum += term;
    }
    return z < 0 ? 0.5 - density * sum : 0.5 + density * sum;
  }
  let below = size;
  for (let i = 60; i > 0; i--) below = size + i / below;
  return z < 0 ? density / below : 1 - density / below;
}

/** Where a rising function reaches a value. */
export function solve(f: (x: number) => number, value: number, low: number, high: number): number {
  let [from, to] = [low, high];
  for (let i = 0; i < 100 && to - from > 1e-14 * Math.max(1, Math.abs(from)); i++) {
    const middle = (from + to) / 2;
    if (f(middle) < value) from = middle;
    else to = middle;
  }
  return (from + to) / 2;
}

export const normalQuantile = (p: number): number => solve(normal, p, -40, 40);

/** ln Γ(x) by Stirling's series, moved up until it is exact. */
export function logGamma(x: number): number {
  let [at, shift] = [x, 0];
  for (; at < 15; at++) shift -= Math.log(at);
  const series = 1 / (12 * at) - 1 / (360 * at ** 3) + 1 / (1260 * at ** 5) - 1 / (1680 * at ** 7);
  return shift + (at - 0.5) * Math.log(at) - at + Math.log(2 * Math.PI) / 2 + series;
}

export function simpson(f: (x: number) => number, from: number, to: number, pieces: number): number {
  const h = (to - from) / pieces;
  let sum = f(from) + f(to);
  for (let i = 1; i < pieces; i++) sum += f(from + i * h) * (i % 2 === 1 ? 4 : 2);
  return (sum * h) / 3;
}

/** I_x(a, b), regularised, by its continued fraction. */
export function beta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - beta(1 - x, b, a);
  let fraction = 0;
  for (let m = 300; m > 0; m--) {
    const odd = (-(a + m - 1) * (a + b + m - 1) * x) / ((a + 2 * m - 2) * (a + 2 * m - 1));
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    fraction = odd / (1 + even / (1 + fraction));
  }
  const front = a * Math.log(x) + b * Math.log(1 - x) - (logGamma(a) + logGamma(b) - logGamma(a + b));
  return Math.exp(front) / a / (1 + fraction);
}

export const fLower = (f: number, one: number, other: number): number =>
  beta((one * f) / (one * f + other), one / 2, other / 2);
export const fUpper = (f: number, one: number, other: number): number =>
  beta(other / (one * f + other), other / 2, one / 2);
export const fQuantile = (p: number, one: number, other: number): number =>
  solve((f) => fLower(f, one, other), p, 0, 1e6);

export const studentQuantile = (p: number, df: number): number =>
  solve((t) => 1 - beta(df / (df + t * t), df / 2, 0.5) / 2, p, 0, 1e6);

/** P(chi-square ≥ x), by the series of the lower incomplete gamma function. */
export function chiSquareUpper(x: number, df: number): number {
  let [term, all] = [1, 1];
  for (let i = 1; i < 2000 && term > 1e-18 * all; i++) {
    term *= x / (df + 2 * i);
    all += term;
  }
  return x > 1000 ? 0 : 1 - Math.exp((df / 2) * Math.log(x / 2) - x / 2 - logGamma(df / 2 + 1)) * all;
}

/** Density of sqrt(chi-square / df). */
function spreadDensity(df: number): (s: number) => number {
  const front = Math.log(2) + (df / 2) * Math.log(df / 2) - logGamma(df / 2);
  return (s) => {
    if (s === 0) return df === 1 ? Math.exp(front) : 0;
    return Math.exp(front + (df - 1) * Math.log(s) - (df * s * s) / 2);
  };
}

const reach = (df: number): readonly [number, number] => {
  const width = 9 / Math.sqrt(2 * df);
  return [Math.max(0, 1 - width), 1 + width + 2 / df];
};

/** P(T <= t) of the noncentral t. */
export function noncentralT(t: number, df: number, shift: number): number {
  const density = spreadDensity(df);
  // With few values the density reaches far, and the other factor is steep.
  return simpson((s) => normal(t * s - shift) * density(s), ...reach(df), df < 10 ? 3000 : 400);
}

/** The factor of a tolerance interval: one-sided, or for both limits. */
export function toleranceFactor(n: number, confidence: number, content: number, isTwoSided: boolean): number {
  if (!isTwoSided) {
    const shift = Math.sqrt(n) * normalQuantile(content);
    return solve((t) => noncentralT(t, n - 1, shift), confidence, -1e3, 1e4) / Math.sqrt(n);
  }
  const density = spreadDensity(n - 1);
  // Half the width that holds the content about a mean that is off by so much.
  const widths = Array.from({ length: 81 }, (_, i) => {
    const off = (i * 8) / 80 / Math.sqrt(n);
    return solve((r) => normal(off + r) - normal(off - r), content, 0, 40);
  });
  const holds = (k: number): number =>
    2 *
    simpson(
      (z) => {
        const least = widths[Math.round(z * 10)]! / k;
        const [from, to] = reach(n - 1);
        const above = least >= to ? 0 : simpson(density, Math.max(from, least), to, 200);
        return (above * Math.exp((-z * z) / 2)) / Math.sqrt(2 * Math.PI);
      },
      0,
      8,
      80,
    );
  return solve(holds, confidence, 1e-3, 1e3);
}

/** The C with P(T <= 3 sqrt(n) index) = confidence. */
export function lowerBound(index: number, n: number, df: number, confidence: number): number {
  const scale = 3 * Math.sqrt(n);
  return -solve((minus) => noncentralT(scale * index, df, -minus * scale), confidence, -index - 5, -index + 10);
}

export const meanOf = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;
export const deviationOf = (values: readonly number[]): number => {
  const mean = meanOf(values);
  return Math.sqrt(values.reduce((sum, x) => sum + (x - mean) ** 2, 0) / (values.length - 1));
};

const polynomial = (x: number, ...factors: readonly number[]): number =>
  factors.reduce((sum, factor, power) => sum + factor * x ** power, 0);

export function shapiroWilk(values: readonly number[]): { readonly w: number; readonly p: number } {
  const x = [...values].sort((a, b) => a - b);
  const n = x.length;
  const c = Array.from({ length: Math.floor(n / 2) }, (_, i) => -normalQuantile((i + 1 - 0.375) / (n + 0.25)));
  const s = 2 * c.reduce((sum, one) => sum + one * one, 0);
  const u = 1 / Math.sqrt(n);
  const a1 = c[0]! / Math.sqrt(s) + polynomial(u, 0, 0.221157, -0.147981, -2.07119, 4.434685, -2.706056);
  const a2 = c[1]! / Math.sqrt(s) + polynomial(u, 0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633);
  const rest = Math.sqrt((s - 2 * c[0]! ** 2 - 2 * c[1]! ** 2) / (1 - 2 * a1 ** 2 - 2 * a2 ** 2));
  const a = c.map((one, i) => (i === 0 ? a1 : i === 1 ? a2 : one / rest));
  const mean = meanOf(x);
  const about = x.reduce((sum, one) => sum + (one - mean) ** 2, 0);
  const w = a.reduce((sum, one, i) => sum + one * (x[n - 1 - i]! - x[i]!), 0) ** 2 / about;
  if (n < 12) {
    const y = -Math.log(-2.273 + 0.459 * n - Math.log(1 - w));
    const spread = Math.exp(polynomial(n, 1.3822, -0.77857, 0.062767, -0.0020322));
    return { w, p: normal(-(y - polynomial(n, 0.544, -0.39978, 0.025054, -0.0006714)) / spread) };
  }
  const l = Math.log(n);
  const spread = Math.exp(polynomial(l, -0.4803, -0.082676, 0.0030302));
  return { w, p: normal(-(Math.log(1 - w) - polynomial(l, -1.5861, -0.31082, -0.083751, 0.0038915)) / spread) };
}
