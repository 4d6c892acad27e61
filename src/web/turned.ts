import { z } from 'zod';

/** Some of many, from a place on: a page of a list that people turn over. */
export interface Turned<T> {
  readonly rows: readonly T[];
  readonly from: number;
  readonly of: number;
  readonly before: number | null;
  readonly next: number | null;
}

/** @param from place of the first row, from 1. @param most rows on a page. */
export function turned<T>(all: readonly T[], from: number, most: number): Turned<T> {
  const rows = all.slice(from - 1, from - 1 + most);
  const next = from + rows.length;
  return {
    ...{ rows, from, of: all.length },
    before: from > 1 ? Math.max(1, from - most) : null,
    next: next <= all.length ? next : null,
  };
}

/** Place of the first row that is shown, as an address has it. */
export const RowPlace = z
  .string()
  .regex(/^[1-9]\d{0,6}$/, { error: 'number of a row, from 1' })
  .transform(Number)
  .default(1);
