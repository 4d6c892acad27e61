import type { Column, TableRow } from './column.js';
import { decimalParts } from './decimal-cell.js';
import { widthOf } from './shaping.js';
import { CELL, CELL_HEAD } from './style.js';
import { naturalWidths } from './text-layout.js';

/** Space on each side of a cell, in points. */
export const CELL_PAD = 4;

/** No column asks for more than this for an unbroken word: a longer one is broken instead. */
const LONGEST_KEPT_WORD = 150;

interface Wish {
  /** On one line. */
  full: number;
  /** Without breaking a word. */
  least: number;
}

/**
 * Widths of the columns in points, `total` in all. Columns with a `width` share the line by these weights, but none is
 * too narrow for the words of its head; without any, each gets what its longest word needs, and the rest goes where lines would otherwise break.
 */
export function columnWidths(columns: readonly Column[], rows: readonly TableRow[], total: number): number[] {
  const weights = columns.map((column) => column.width);
  if (weights.some((weight) => weight !== undefined)) return byWeight(weights, columns, total);
  const wishes = columns.map((column, index) => wishOf(column, rows, index));
  const full = sum(wishes.map((wish) => wish.full));
  const least = sum(wishes.map((wish) => wish.least));
  if (full <= total) return wishes.map((wish) => wish.full + (total - full) / columns.length);
  if (least >= total) return wishes.map((wish) => (wish.least / least) * total);
  const share = (total - least) / (full - least);
  return wishes.map((wish) => wish.least + (wish.full - wish.least) * share);
}

function byWeight(weights: readonly (number | undefined)[], columns: readonly Column[], total: number): number[] {
  const known = weights.map((weight) => weight ?? 1);
  const shares = known.map((weight) => (weight / sum(known)) * total);
  const least = columns.map(({ head }) => naturalWidths(head, CELL_HEAD).word + 2 * CELL_PAD + 0.5);
  const short = shares.map((share, index) => share < least[index]!);
  const others = sum(shares.filter((_, index) => !short[index]));
  const left = total - sum(least.filter((_, index) => short[index]));
  if (others === 0 || left <= 0) return shares;
  return shares.map((share, index) => (short[index] ? least[index]! : (share * left) / others));
}

function wishOf(column: Column, rows: readonly TableRow[], index: number): Wish {
  const head = naturalWidths(column.head, CELL_HEAD);
  const unit = column.unit === undefined ? 0 : widthOf(column.unit, 'regular', CELL.sizePt);
  const wish: Wish = { full: Math.max(head.full, unit), least: Math.max(head.word, unit) };
  let whole = 0;
  let fraction = 0;
  for (const row of rows) {
    const cell = row.cells[index] ?? '';
    const parts = column.align === 'decimal' ? decimalParts(cell) : undefined;
    if (parts) {
      whole = Math.max(whole, widthOf(parts.whole, 'regular', CELL.sizePt));
      fraction = Math.max(fraction, widthOf(parts.fraction, 'regular', CELL.sizePt));
    } else {
      const widths = naturalWidths(cell, CELL);
      wish.full = Math.max(wish.full, widths.full);
      wish.least = Math.max(wish.least, widths.word);
    }
  }
  wish.full = Math.max(wish.full, whole + fraction) + 2 * CELL_PAD + 0.5;
  wish.least = Math.max(Math.min(wish.least, LONGEST_KEPT_WORD), Math.min(whole + fraction, LONGEST_KEPT_WORD));
  wish.least += 2 * CELL_PAD + 0.5;
  return wish;
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
