import { CalculationError } from './errors.js';

/**
 * Decimal arithmetic on text. A result is compared and rounded as it was reported, because a binary number cannot hold
 * most decimal fractions: 0.285 and 12.35 are stored a little off the tie, and a rounding done on them goes astray.
 */

/** The two ways to break a tie: ISO 80000-1 rule A (also ASTM E29) is `half-even`, rule B is `half-away`. */
export type TieRule = 'half-even' | 'half-away';

/** The number `coefficient` / 10^`scale`; `scale` is the count of decimals as written and is never negative. */
export interface Decimal {
  readonly coefficient: bigint;
  readonly scale: number;
}

const DECIMAL_TEXT = /^([+-]?)(\d+\.?\d*|\.\d+)(?:[eE]([+-]?\d+))?$/;
const LONGEST_TEXT = 400;
const LARGEST_EXPONENT = 400;

/**
 * Reads `12.30`, `-.5`, `+4`, `1.2e-3`: a point as decimal mark, no blanks, no grouping, at most 400 characters.
 * @throws CalculationError with `field` when the text is anything else.
 */
export function parseDecimal(text: string, field = 'value'): Decimal {
  const decimal = readDecimal(text);
  if (decimal === undefined) {
    throw new CalculationError(
      field,
      `found "${text.slice(0, 60)}", expected a decimal number such as 12.35 or 1.2e-3, with a point as decimal mark`,
    );
  }
  return decimal;
}

/**
 * Compares two decimal texts exactly: 1.20 equals 1.2, and 0.1 equals 1e-1.
 * @returns −1 when a is the smaller, 0 when they are equal, 1 when a is the larger.
 * @throws CalculationError when one of them is no decimal.
 */
export function compareDecimal(a: string, b: string): -1 | 0 | 1 {
  const first = parseDecimal(a, 'a');
  const second = parseDecimal(b, 'b');
  const scale = Math.max(first.scale, second.scale);
  const left = atScale(first, scale);
  const right = atScale(second, scale);
  if (left === right) return 0;
  return left < right ? -1 : 1;
}

/**
 * The exact sum of decimal texts, as plain decimal text; `0` of none.
 * @throws CalculationError when one of them is no decimal.
 */
export function sumDecimals(values: readonly string[]): string {
  const decimals = values.map((value) => parseDecimal(value));
  const scale = Math.max(0, ...decimals.map((decimal) => decimal.scale));
  const coefficient = decimals.reduce((sum, decimal) => sum + atScale(decimal, scale), 0n);
  return decimalText(withoutTrailingZeros({ coefficient, scale }));
}

/**
 * Rounds to the nearest multiple of `place`, once, from all digits of the text.
 * @param place the rounding interval, a positive decimal: `0.1`, `1`, `10`, also `0.5` or `0.02`.
 * @returns plain decimal text with as many decimals as the place needs; zero carries no sign.
 * Source: ISO 80000-1 annex B, rule A (half to even) and rule B (half away from zero); ASTM E29 rounding method = rule A.
 * @throws CalculationError when the value is no decimal or the place is not a positive one.
 */
export function roundDecimal(value: string, place: string, rule: TieRule): string {
  const number = parseDecimal(value, 'value');
  const interval = withoutTrailingZeros(parseDecimal(place, 'place'));
  if (interval.coefficient <= 0n) throw new CalculationError('place', `found ${place}, expected a positive decimal`);
  const scale = Math.max(number.scale, interval.scale);
  const multiple = divideRounded(atScale(number, scale), atScale(interval, scale), rule);
  return decimalText({ coefficient: multiple * interval.coefficient, scale: interval.scale });
}

/**
 * The last place to which a text is written: `0.01` for 12.30, `1` for 120, `100` for 1.2e3. The zeros at the end of
 * 120 count as written digits.
 * @throws CalculationError when the text is no decimal.
 */
export function placeOf(text: string): string {
  parseDecimal(text, 'text');
  const [digits = '', exponent = '0'] = text.toLowerCase().split('e');
  const decimals = digits.includes('.') ? digits.length - digits.indexOf('.') - 1 : 0;
  const power = Number(exponent) - decimals;
  return power < 0 ? decimalText({ coefficient: 1n, scale: -power }) : `1${'0'.repeat(power)}`;
}

/** Plain text of a decimal, without exponent; zero has no sign. */
export function decimalText({ coefficient, scale }: Decimal): string {
  const digits = (coefficient < 0n ? -coefficient : coefficient).toString().padStart(scale + 1, '0');
  const whole = digits.slice(0, digits.length - scale);
  const sign = coefficient < 0n ? '-' : '';
  return scale === 0 ? `${sign}${whole}` : `${sign}${whole}.${digits.slice(digits.length - scale)}`;
}

function readDecimal(text: string): Decimal | undefined {
  const match = text.length <= LONGEST_TEXT ? DECIMAL_TEXT.exec(text) : null;
  if (match === null) return undefined;
  const [, sign, digits = '', exponentText = '0'] = match;
  const exponent = Number(exponentText);
  if (Math.abs(exponent) > LARGEST_EXPONENT) return undefined;
  const [whole = '', fraction = ''] = digits.split('.');
  const magnitude = BigInt(whole + fraction);
  const coefficient = sign === '-' ? -magnitude : magnitude;
  const scale = fraction.length - exponent;
  return scale >= 0 ? { coefficient, scale } : { coefficient: coefficient * powerOfTen(-scale), scale: 0 };
}

function atScale({ coefficient, scale }: Decimal, wanted: number): bigint {
  return coefficient * powerOfTen(wanted - scale);
}

function powerOfTen(exponent: number): bigint {
  return 10n ** BigInt(exponent);
}

function withoutTrailingZeros({ coefficient, scale }: Decimal): Decimal {
  let shorter = coefficient;
  let left = scale;
  while (left > 0 && shorter % 10n === 0n) {
    shorter /= 10n;
    left -= 1;
  }
  return { coefficient: shorter, scale: left };
}

/** The whole number nearest to dividend / divisor (divisor positive), ties by the rule. */
function divideRounded(dividend: bigint, divisor: bigint, rule: TieRule): bigint {
  const magnitude = dividend < 0n ? -dividend : dividend;
  const quotient = magnitude / divisor;
  const twiceRest = (magnitude % divisor) * 2n;
  const isTie = twiceRest === divisor;
  const goesUp = twiceRest > divisor || (isTie && (rule === 'half-away' || quotient % 2n === 1n));
  const rounded = goesUp ? quotient + 1n : quotient;
  return dividend < 0n ? -rounded : rounded;
}
