import { decimalText, parseDecimal } from '../base/decimal.js';

/** More places than a mean of a thousand values needs to lie on the right side of any tie. */
const SPARE_PLACES = 20;

/**
 * The mean of decimal texts as decimal text: exact where it ends, else cut after twenty places more than the values have.
 * A mean that does not end is never a tie, so that rounding and comparing it go the right way.
 * @param values at least one decimal text.
 */
export function meanOf(values: readonly string[]): string {
  const decimals = values.map((value) => parseDecimal(value));
  const scale = Math.max(...decimals.map((decimal) => decimal.scale)) + SPARE_PLACES;
  const sum = decimals.reduce(
    (total, decimal) => total + decimal.coefficient * 10n ** BigInt(scale - decimal.scale),
    0n,
  );
  return withoutTrailingZeros(decimalText({ coefficient: sum / BigInt(values.length), scale }));
}

const withoutTrailingZeros = (text: string): string =>
  text.includes('.') ? text.replace(/0+$/, '').replace(/\.$/, '') : text;
