/** 1 − γ, Euler's constant. */
const ONE_MINUS_EULER = 0.42278433509846713;
/** (−1)^k (ζ(k) − 1)/k for k = 2, 3, …, made by tests/reference/write-distributions.py. */
const SERIES_AT_TWO: readonly number[] = [
  0.3224670334241132, -0.0673523010531981, 0.020580808427784546, -0.007385551028673986, 0.0028905103307415234,
  -0.001192753911703261, 0.0005096695247430425, -0.00022315475845357939, 9.945751278180853e-5, -4.492623673813314e-5,
  2.050721277567069e-5, -9.439488275268397e-6, 4.374866789907488e-6, -2.039215753801366e-6, 9.55141213040742e-7,
  -4.492469198764566e-7, 2.1207184805554665e-7, -1.0043224823968099e-7, 4.7698101693639804e-8, -2.2711094608943164e-8,
  1.0838659214896955e-8, -5.183475041970047e-9, 2.4836745438024785e-9, -1.1921401405860912e-9, 5.731367241678862e-10,
  -2.7595228851242334e-10,
];
const HALF_LOG_TWO_PI = 0.5 * Math.log(2 * Math.PI);
/** From here on Stirling's formula with the remainder below gives every digit. */
const LARGE = 12;

/** ln Γ(x) for x > 0; keeps its relative accuracy beside the zeros at 1 and 2. */
export function logGamma(x: number): number {
  if (x < 0.5) return logGamma(x + 1) - Math.log(x);
  if (x < 1.5) return logGammaNearTwo(x - 1) - Math.log1p(x - 1);
  if (x >= LARGE) return (x - 0.5) * (Math.log(x) - 1) - 0.5 + HALF_LOG_TWO_PI + stirlingRemainder(x);
  let product = 1;
  let rest = x;
  while (rest >= 2.5) {
    rest -= 1;
    product *= rest;
  }
  return Math.log(product) + logGammaNearTwo(rest - 2);
}

/** ln Γ(2 + z) for |z| ≤ ½. Source: Abramowitz and Stegun 6.1.33. */
function logGammaNearTwo(z: number): number {
  let sum = 0;
  for (let k = SERIES_AT_TWO.length - 1; k >= 0; k--) sum = sum * z + SERIES_AT_TWO[k]!;
  return z * (ONE_MINUS_EULER + z * sum);
}

/**
 * What Stirling's formula leaves out: ln Γ(x) = (x − ½) ln x − x + ½ ln 2π + remainder(x).
 * Differences of ln Γ at large x are taken through it, because the large terms cancel in the formula.
 * Source: Abramowitz and Stegun 6.1.41.
 */
export function stirlingRemainder(x: number): number {
  if (x < LARGE) return logGamma(x) - ((x - 0.5) * Math.log(x) - x + HALF_LOG_TWO_PI);
  const inverseSquare = 1 / (x * x);
  const series =
    1 / 12 - inverseSquare * (1 / 360 - inverseSquare * (1 / 1260 - inverseSquare * (1 / 1680 - inverseSquare / 1188)));
  return series / x;
}

/**
 * ln q − (q − 1), without loss of digits where q is near 1.
 * @param excess q − 1, which a caller often knows better than q tells.
 */
export function logRatioExcess(q: number, excess: number): number {
  if (Math.abs(excess) > 0.4) return Math.log(q) - excess;
  // ln((1 + r)/(1 − r)) = 2 (r + r³/3 + r⁵/5 + …) and 2 r − excess = −r excess.
  const r = excess / (2 + excess);
  const square = r * r;
  let sum = 0;
  for (let k = 25; k >= 3; k -= 2) sum = (sum + 2 / k) * square;
  return r * (sum - excess);
}
