const ZEROS = 0x30303030;
/** Added to a digit, one to each of four bytes, this stays below the highest bit of the byte; added to more it does not. */
const BEYOND_NINE = 0x76767676;
const HIGHEST_BITS = 0x80808080;
const EVEN_BYTES = 0x00ff00ff;

/**
 * Reads up to four digits at once.
 * @param word four bytes of text, the first in the lowest place.
 * @param count how many of them are digits, from the end: 1 to 4.
 * @returns the number that they spell, or −1 when one of them is no digit.
 */
export function digitsIn(word: number, count: number): number {
  const digits = (word ^ ZEROS) & (-1 << (32 - 8 * count));
  if (((digits | (digits + BEYOND_NINE)) & HIGHEST_BITS) !== 0) return -1;
  const pairs = (Math.imul(digits, 10) + (digits >>> 8)) & EVEN_BYTES;
  return (pairs & 0xff) * 100 + (pairs >>> 16);
}
