import { logRatioExcess, stirlingRemainder } from './log-gamma.js';

/** Steps after which the fraction has settled even for shapes of thousands of millions. */
const MOST_STEPS = 100_000;

/** The regularised incomplete beta function I_x(a, b), for a, b > 0; relative error about 1e-13, also in the lower tail. */
export function betaCdf(x: number, a: number, b: number): number {
  return x <= 0 ? 0 : x >= 1 ? 1 : tail(x, 1 - x, a, b);
}

/** 1 − I_x(a, b), without loss of digits in the upper tail. */
export function betaUpper(x: number, a: number, b: number): number {
  return x <= 0 ? 1 : x >= 1 ? 0 : tail(1 - x, x, b, a);
}

/** I_x(a, b) with y = 1 − x: whichever of the two is small is given with all its digits. */
function tail(x: number, y: number, a: number, b: number): number {
  const beyondMean = b * x - a * y;
  return beyondMean <= 0 ? fraction(x, y, a, b, -beyondMean) : 1 - fraction(y, x, b, a, beyondMean);
}

/**
 * The continued fraction whose terms are positive up to the mean, by Lentz's method.
 * Source: DiDonato and Morris, ACM Transactions on Mathematical Software 18 (1992) 360, algorithm 708 (from memory).
 * @param belowMean a y − b x, not negative.
 */
function fraction(x: number, y: number, a: number, b: number, belowMean: number): number {
  let sum = (a * (belowMean + 1)) / (a + 1);
  let c = sum;
  let d = 0;
  for (let n = 1; n < MOST_STEPS; n++) {
    const at = a + 2 * n;
    const alpha = (((a + n - 1) * (a + b + n - 1)) / (at - 1)) * ((n * (b - n) * x * x) / (at - 1));
    const beta = n + (n * (b - n) * x) / (at - 1) + ((a + n) * (belowMean + 1 + n * (1 + y))) / (at + 1);
    d = 1 / (beta + alpha * d);
    c = beta + alpha / c;
    const factor = c * d;
    sum *= factor;
    if (Math.abs(factor - 1) < 1e-16) break;
  }
  return power(x, y, a, b) / sum;
}

/** x^a y^b / B(a, b), written around the mean a/(a + b) so that no large logarithms cancel. */
function power(x: number, y: number, a: number, b: number): number {
  const n = a + b;
  const beyondMean = b * x - a * y;
  const logs = a * logRatioExcess((x * n) / a, beyondMean / a) + b * logRatioExcess((y * n) / b, -beyondMean / b);
  const remainders = stirlingRemainder(n) - stirlingRemainder(a) - stirlingRemainder(b);
  return Math.sqrt((a / n) * (b / (2 * Math.PI))) * Math.exp(logs + remainders);
}
