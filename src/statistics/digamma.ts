/** Terms B_2k / (2k) of the asymptotic series of ln a − ψ(a). Source: Abramowitz and Stegun 6.3.18. */
const SERIES = [1 / 12, -1 / 120, 1 / 252, -1 / 240, 1 / 132, -691 / 32760, 1 / 12];
const SERIES_FROM = 12;

/** ln a − ψ(a) for a > 0, ψ the digamma function: positive and falling, without cancellation for large a. */
export function logMinusDigamma(a: number): number {
  let shifted = a;
  let reciprocals = 0;
  while (shifted < SERIES_FROM) {
    reciprocals += 1 / shifted;
    shifted += 1;
  }
  const square = 1 / (shifted * shifted);
  let power = square;
  let rest = 0.5 / shifted;
  for (const coefficient of SERIES) {
    rest += coefficient * power;
    power *= square;
  }
  return rest + reciprocals - Math.log(shifted / a);
}
