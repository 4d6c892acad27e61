import gammaln from '@stdlib/math-base-special-gammaln';

/** ln Γ(x) for x > 0. */
export function logGamma(x: number): number {
  return gammaln(x);
}

/**
 * What Stirling's formula leaves out: ln Γ(x) = (x − ½) ln x − x + ½ ln 2π + remainder(x).
 * Differences of ln Γ at large x are taken through it, because the large terms cancel in the formula.
 * Source: Abramowitz and Stegun 6.1.41.
 */
export function stirlingRemainder(x: number): number {
  if (x < 12) return gammaln(x) - ((x - 0.5) * Math.log(x) - x + 0.5 * Math.log(2 * Math.PI));
  const inverseSquare = 1 / (x * x);
  const series =
    1 / 12 - inverseSquare * (1 / 360 - inverseSquare * (1 / 1260 - inverseSquare * (1 / 1680 - inverseSquare / 1188)));
  return series / x;
}
