/**
 * Check digit of a GS1 key: digits weighted 3, 1, 3, 1… from the right, topped up to the next ten.
 * Source: GS1 General Specifications, section 7.9, and the check `csum` of the GS1 Barcode Syntax Dictionary.
 */
export function checkDigit(digitsBefore: string): string {
  const sum = Array.from(digitsBefore)
    .reverse()
    .reduce((total, digit, index) => total + Number(digit) * (index % 2 === 0 ? 3 : 1), 0);
  return String((10 - (sum % 10)) % 10);
}

/** The 82 characters of an element string in the order that gives each its number (ISO/IEC 646, figure 7.11-1). */
export const SET_82 = '!"%&\'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz';
const SET_32 = '23456789ABCDEFGHJKLMNPQRSTUVWXYZ';
/** One prime for each character before the pair: no identifier with a pair is longer than 25 characters. */
const PRIMES = [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83];

/**
 * The two check characters of a model number, (8013) and (8014): numbers of the characters weighted by primes from the
 * right, modulo 1021, written as two characters of a set of 32.
 * Source: GS1 General Specifications, section 7.9.5, and the check `csumalpha` of the GS1 Barcode Syntax Dictionary.
 * @param before at most 23 characters of set 82.
 */
export function checkPair(before: string): string {
  const last = before.length - 1;
  const sum =
    Array.from(before).reduce((total, sign, at) => total + SET_82.indexOf(sign) * PRIMES[last - at]!, 0) % 1021;
  return SET_32[sum >> 5]! + SET_32[sum & 31]!;
}
