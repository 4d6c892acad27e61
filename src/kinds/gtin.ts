/**
 * Check digit of a GS1 key: digits weighted 3, 1, 3, 1… from the right, topped up to the next ten.
 * Source: GS1 General Specifications, section 7.9 (from memory).
 */
export function checkDigit(digitsBefore: string): string {
  const sum = Array.from(digitsBefore)
    .reverse()
    .reduce((total, digit, index) => total + Number(digit) * (index % 2 === 0 ? 3 : 1), 0);
  return String((10 - (sum % 10)) % 10);
}
