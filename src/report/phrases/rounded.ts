import { placeOf, roundDecimal } from '../../base/decimal.js';
import type { Characteristic } from '../../kinds/specification.js';
import { ABSENT } from './absent.js';

/*
 * How computed numbers are shown, each rounded once from all its digits, ties to even, zeros at the end kept
 * (docs/trade.md 5.2). API and attachments carry every digit.
 */

/** A spread to two significant digits: with fifty values it is known to a tenth. */
export const spreadText = (spread: number | null): string => besideSpread(spread, spread);

/** A mean or a value to the place to which the spread beside it is shown. */
export function besideSpread(value: number | null, spread: number | null): string {
  if (value === null) return ABSENT.notStated;
  return spread === null || spread === 0 ? String(value) : roundedTo(value, placeOfSpread(spread));
}

/** An index, an F or a number of values, to two decimals or as many as are asked for. */
export const indexText = (value: number | null, place = '0.01'): string =>
  value === null ? ABSENT.notStated : roundedTo(value, place);

/** A lower bound to two decimals, downwards: it promises no more than was computed. */
export function lowerBoundText(bound: number | null): string {
  if (bound === null) return ABSENT.notStated;
  const near = roundedTo(bound, '0.01');
  return Number(near) > bound ? roundedTo(Number(near) - 0.01, '0.01') : near;
}

/** A probability to two significant digits; what is too small to matter as below one in ten thousand. */
export const probabilityText = (p: number): string => (p < 0.0001 ? '< 0.0001' : `= ${spreadText(p)}`);

/** What a plan computed, to one place beyond the limits. */
export function besideLimits(value: number | undefined, { lower, upper }: Characteristic): string {
  const places = [lower, upper].flatMap((limit) => (limit === undefined ? [] : [Number(placeOf(limit))]));
  return value === undefined ? ABSENT.notStated : roundedTo(value, String(Math.min(...places) / 10));
}

/** Values as they were reported, each with as many decimals as the one that has most. */
export function alikePlaces(values: readonly number[]): string[] {
  const decimals = values.map((value) => (String(value).split('.')[1] ?? '').length);
  return values.map((value) => (String(value).includes('e') ? String(value) : value.toFixed(Math.max(...decimals))));
}

const roundedTo = (value: number, place: string): string => roundDecimal(String(value), place, 'half-even');

function placeOfSpread(spread: number): string {
  const power = Number(spread.toExponential(1).split('e')[1]) - 1;
  return power < 0 ? `0.${'0'.repeat(-power - 1)}1` : `1${'0'.repeat(power)}`;
}
