import type { Following } from '../ledger/recorded-rows.js';
import type { Instruction } from './instruction.js';

/** A table whose rows the ledger records. */
export interface RecordedTable {
  readonly name: string;
  /** What is hashed, in this order. */
  readonly columns: readonly { readonly name: string; readonly isText: boolean }[];
  /** What follows from the entry that records a row. */
  readonly following: readonly Following[];
  /** Stores rows. Values: what follows from the entry, for the first row, in the order of `following`; the text of the rows. */
  readonly insert: Instruction<(string | number)[]>;
}

type Values = Readonly<Record<string, unknown>>;

/**
 * New rows as they will be read back, a JSON list of lists: what is stored, and what is hashed. Rows may bring numbers as
 * text, where an empty text is no value.
 * @param shared what stands in columns that the rows leave out.
 */
export function newRowsText({ columns }: RecordedTable, rows: readonly Values[], shared: Values = {}): string {
  const stored = (value: unknown, isText: boolean) => {
    if (isText || value === null || value === undefined) return value ?? null;
    return value === '' ? null : Number(value);
  };
  return JSON.stringify(
    rows.map((row) => columns.map(({ name, isText }) => stored(row[name] ?? shared[name], isText))),
  );
}
