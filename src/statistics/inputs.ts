import { z } from 'zod';
import { CalculationError } from '../base/errors.js';

/** Squares of larger magnitudes overflow a double; no measurement comes near. */
const LARGEST_MAGNITUDE = 1e150;

/** The largest sample any bound or factor is computed for: the noncentral t is checked up to it. */
export const LARGEST_SAMPLE = 1_000_000;

const DECIMAL_TEXT = /^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i;
const CENSORED_TEXT = /^([<>])\s*(.+)$/;

/** A reported value; `below` and `above` mean that only the limit it lies below or above is known. */
export interface CensoredValue {
  readonly value: number;
  readonly censored: 'none' | 'below' | 'above';
}

export interface Limits {
  readonly lower?: number | undefined;
  readonly upper?: number | undefined;
}

/**
 * The number a decimal text stands for, or nothing when the text is no finite decimal number.
 * Thousands separators, hexadecimal, blanks and decimal commas are no decimal text.
 */
export function parseDecimal(text: string): number | undefined {
  if (!DECIMAL_TEXT.test(text)) return undefined;
  const value = Number(text);
  return Math.abs(value) <= LARGEST_MAGNITUDE ? value : undefined;
}

const numberOrText = z.union([z.number(), z.string()], {
  error: (issue) => `expected a finite number or decimal text, found ${shown(issue.input)}`,
});

/** A finite number, given as a number or as decimal text. */
export const decimal = numberOrText.transform((given, context): number => {
  const value = typeof given === 'string' ? parseDecimal(given) : given;
  if (value !== undefined && Math.abs(value) <= LARGEST_MAGNITUDE) return value;
  context.addIssue({ code: 'custom', message: `expected a finite number or decimal text, found ${shown(given)}` });
  return z.NEVER;
});

/** A finite number or decimal text, or text such as `<0.3` (censored below) and `>120` (censored above). */
export const censoredDecimal = numberOrText.transform((given, context): CensoredValue => {
  const match = typeof given === 'string' ? CENSORED_TEXT.exec(given) : null;
  const bare = match ? match[2]! : given;
  const value = typeof bare === 'string' ? parseDecimal(bare) : bare;
  if (value === undefined || Math.abs(value) > LARGEST_MAGNITUDE) {
    const message = `expected a finite number, decimal text, or text like "<0.3" or ">120", found ${shown(given)}`;
    context.addIssue({ code: 'custom', message });
    return z.NEVER;
  }
  if (!match) return { value, censored: 'none' };
  return { value, censored: match[1] === '<' ? 'below' : 'above' };
});

/** A list of finite numbers or decimal texts, at least `minimum` of them. */
export function values(meaning: string, minimum = 1) {
  return z
    .array(decimal)
    .min(minimum, `needs at least ${minimum} ${plural(minimum, 'value')}`)
    .describe(meaning);
}

/** A list of values of which some may be censored. */
export function censoredValues(meaning: string, minimum = 1) {
  return z
    .array(censoredDecimal)
    .min(minimum, `needs at least ${minimum} ${plural(minimum, 'value')}`)
    .describe(meaning);
}

/** A list of lists: groups or subgroups, none of them smaller than `minimumEach`. */
export function groups(meaning: string, minimumGroups: number, minimumEach = 1) {
  return z
    .array(z.array(decimal).min(minimumEach, `needs at least ${minimumEach} ${plural(minimumEach, 'value')}`))
    .min(minimumGroups, `needs at least ${minimumGroups} groups`)
    .describe(meaning);
}

/** A finite number of any sign. */
export function finite(meaning: string) {
  return z
    .number()
    .min(-LARGEST_MAGNITUDE, 'is beyond reason')
    .max(LARGEST_MAGNITUDE, 'is beyond reason')
    .describe(meaning);
}

/** A number greater than zero. */
export function positive(meaning: string) {
  return z.number().gt(0, 'must be greater than 0').max(LARGEST_MAGNITUDE, 'is beyond reason').describe(meaning);
}

/** A number of zero or more. */
export function nonNegative(meaning: string) {
  return z.number().min(0, 'must not be negative').max(LARGEST_MAGNITUDE, 'is beyond reason').describe(meaning);
}

/** A probability strictly between 0 and 1: a confidence, a content, a risk. */
export function probability(meaning: string) {
  return z
    .number()
    .gt(0, 'must lie strictly between 0 and 1')
    .lt(1, 'must lie strictly between 0 and 1')
    .describe(meaning);
}

/** A fraction from 0 to 1, both ends allowed. */
export function fraction(meaning: string) {
  return z.number().min(0, 'must lie between 0 and 1').max(1, 'must lie between 0 and 1').describe(meaning);
}

/** A whole number within the given range. */
export function count(meaning: string, minimum: number, maximum: number) {
  const range = `must be a whole number from ${minimum} to ${maximum}`;
  return z.int(range).min(minimum, range).max(maximum, range).describe(meaning);
}

/** The one or two sides of a bound or interval. */
export function sides(meaning: string) {
  return z.union([z.literal(1), z.literal(2)], { error: 'must be 1 or 2' }).describe(meaning);
}

/**
 * Refuses limits that stand the wrong way round.
 * @throws CalculationError with the field `lower`.
 */
export function checkLimits({ lower, upper }: Limits): void {
  if (lower !== undefined && upper !== undefined && !(lower < upper)) {
    throw new CalculationError('lower', `the lower limit ${lower} must be less than the upper limit ${upper}`);
  }
}

/**
 * Refuses limits that stand the wrong way round, and the absence of both.
 * @throws CalculationError with the field `lower`.
 */
export function requireLimit(limits: Limits): void {
  if (limits.lower === undefined && limits.upper === undefined) {
    throw new CalculationError('lower', 'give a lower limit, an upper limit, or both');
  }
  checkLimits(limits);
}

/**
 * Refuses a number of values for which no bound is computed: below 2, beyond a million, or not whole.
 * @throws CalculationError with the field `n`.
 */
export function requireSampleSize(n: number): void {
  if (!Number.isInteger(n) || n < 2 || n > LARGEST_SAMPLE) {
    throw new CalculationError('n', `found ${n}, expected a whole number from 2 to ${LARGEST_SAMPLE}`);
  }
}

/** Nearer to 0 or 1 than this a double cannot tell confidences apart in a quadrature. */
const CONFIDENCE_MARGIN = 1e-12;

/**
 * Refuses a confidence too near to 0 or 1 for a bound by quadrature.
 * @throws CalculationError with the field `confidence`.
 */
export function requireComputableConfidence(confidence: number): void {
  if (!(confidence >= CONFIDENCE_MARGIN && confidence <= 1 - CONFIDENCE_MARGIN)) {
    throw new CalculationError(
      'confidence',
      `found ${confidence}, expected a number from ${CONFIDENCE_MARGIN} to 1 − ${CONFIDENCE_MARGIN}`,
    );
  }
}

/**
 * Refuses a spread of zero where it is about to be divided by.
 * @throws CalculationError naming the field the spread comes from.
 */
export function requireSpread(spread: number, field: string): void {
  if (!(spread > 0)) throw new CalculationError(field, 'the values do not differ: the spread is zero');
}

function shown(input: unknown): string {
  if (input === undefined) return 'nothing';
  if (typeof input === 'string') return JSON.stringify(input);
  if (Array.isArray(input)) return 'a list';
  return input !== null && typeof input === 'object' ? 'an object' : String(input);
}

function plural(count: number, noun: string): string {
  return count === 1 ? noun : `${noun}s`;
}
