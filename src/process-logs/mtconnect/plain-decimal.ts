const ZERO = 48;
const MINUS = 45;
const POINT = 46;
/** A number of at most so many digits is an exact integer, and dividing it by a power of ten rounds only once. */
export const EXACT_DIGITS = 15;
const POWERS_OF_TEN = Float64Array.from({ length: EXACT_DIGITS + 1 }, (_, exponent) => 10 ** exponent);

/** Reads decimals of at most 15 digits, such as `-40.25`, straight from the bytes; the value is that of `Number`. */
export class PlainDecimal {
  /** What was read. */
  value = 0;

  /** @returns the index behind the decimal, or −1 when none begins there. What stands behind it is the caller's to judge. */
  read(bytes: Uint8Array, start: number, to: number): number {
    let at = start;
    const isNegative = at < to && bytes[at] === MINUS;
    if (isNegative) at += 1;
    const first = at;
    let mantissa = 0;
    let decimals = 0;
    let points = 0;
    for (; at < to; at += 1) {
      const byte = bytes[at]!;
      const digit = byte - ZERO;
      if (digit >= 0 && digit <= 9) {
        mantissa = mantissa * 10 + digit;
        decimals += points;
      } else if (byte === POINT && points === 0) points = 1;
      else break;
    }
    const digits = at - first - points;
    if (digits < 1 || digits > EXACT_DIGITS) return -1;
    const value = decimals === 0 ? mantissa : mantissa / POWERS_OF_TEN[decimals]!;
    this.value = isNegative ? -value : value;
    return at;
  }
}
