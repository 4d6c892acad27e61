import { writeCsv } from '../dossier/csv.js';
import { asTyped, type TypedFields } from '../entry/typed-fields.js';
import { RESULT_COLUMNS, type ResultColumn } from '../kinds/result.js';
import type { RecordedValue, SheetRow } from './waiting-values.js';

/**
 * What stands in the form of a result sheet, by the names of its fields: what holds for the whole sheet by the names of
 * its columns; `value:rm:W1:2` for the second value of rm on W1, and the same for `piece` and `standardUncertainty`.
 * Behind a colon alone stands what the form remembers: `:lot`, `:method`, `:of` which sheet it types again.
 */
export const SHEET_HEAD = ['instrument', 'analyst', 'startedAt', 'measuredAt'] as const;
export type HeadField = (typeof SHEET_HEAD)[number];
export const ROW_FIELDS = ['value', 'standardUncertainty', 'piece'] as const;
export type RowField = (typeof ROW_FIELDS)[number];

export const LOT = ':lot';
export const METHOD = ':method';
export const OF = ':of';
/** Rows that the second person read otherwise. */
export const AGAIN = ':again';

export const fieldOf = (field: RowField, { item, specimen, n }: SheetRow): string =>
  `${field}:${item.characteristic}:${specimen}:${n}`;

/** The same form with each value as it is read: `12,5` is 12.5. */
export const sheetRead = (fields: TypedFields): TypedFields =>
  Object.fromEntries(
    Object.entries(fields).map(([name, typed]) => {
      const isNumber = name.startsWith('value:') || name.startsWith('standardUncertainty:');
      return [name, isNumber ? asTyped('certified', typed) : typed.trim()];
    }),
  );

/** Rows in which something was typed. */
export const filledIn = (rows: readonly SheetRow[], fields: TypedFields): SheetRow[] =>
  rows.filter((row) => ROW_FIELDS.some((field) => (fields[fieldOf(field, row)] ?? '') !== ''));

/** Fields of rows that wait no more, in which something was typed. */
export function typedBeside(rows: readonly SheetRow[], fields: TypedFields): string[] {
  const known = new Set(rows.flatMap((row) => ROW_FIELDS.map((field) => fieldOf(field, row))));
  const isOfRow = (name: string) => ROW_FIELDS.some((field) => name.startsWith(`${field}:`));
  return Object.keys(fields).filter((name) => isOfRow(name) && fields[name] !== '' && !known.has(name));
}

/** Who typed a sheet, and who typed it again. */
export interface Typists {
  readonly enteredBy: string;
  readonly checkedBy: string;
}

/** The sheet as a file, a line for each row in which something was typed, in their order. */
export function sheetText(
  rows: readonly SheetRow[],
  fields: TypedFields,
  recorded: readonly RecordedValue[],
  typists: Typists,
): string {
  const numbers = new Map<string, number>();
  const place = (specimen: string, characteristic: string, piece: string) => `${specimen} ${characteristic} ${piece}`;
  for (const { specimen, characteristic, piece, replicate } of recorded) {
    const at = place(specimen, characteristic, piece);
    numbers.set(at, Math.max(replicate, numbers.get(at) ?? 0));
  }
  const lines = filledIn(rows, fields).map((row) => {
    const { specimen, item } = row;
    const piece = fields[fieldOf('piece', row)] ?? '';
    // Of each piece they are numbered by themselves.
    const at = place(specimen, item.characteristic, piece);
    const replicate = (numbers.get(at) ?? 0) + 1;
    numbers.set(at, replicate);
    const says: Readonly<Partial<Record<ResultColumn, string>>> = {
      specimen,
      piece,
      characteristic: item.characteristic,
      replicate: String(replicate),
      value: fields[fieldOf('value', row)] ?? '',
      ucum: item.ucum,
      standardUncertainty: fields[fieldOf('standardUncertainty', row)] ?? '',
      ...Object.fromEntries(SHEET_HEAD.map((name) => [name, fields[name] ?? ''])),
      method: item.method.method,
      methodRevision: String(item.method.revision),
      ...typists,
    };
    return RESULT_COLUMNS.all.map((name) => says[name] ?? '');
  });
  return writeCsv(RESULT_COLUMNS.all, lines);
}

/** A field of which two people typed something else. */
export interface Difference {
  readonly field: string;
  readonly first: string;
  readonly second: string;
}

/** What two people typed differently into the same sheet, in the order of the form. */
export function differences(rows: readonly SheetRow[], first: TypedFields, second: TypedFields): Difference[] {
  const fields = [...SHEET_HEAD, ...rows.flatMap((row) => ROW_FIELDS.map((field) => fieldOf(field, row)))];
  return fields.flatMap((field) => {
    const [one, other] = [first[field] ?? '', second[field] ?? ''];
    const isTime = field === 'startedAt' || field === 'measuredAt';
    const isSame = one === other || (isTime && Date.parse(one) === Date.parse(other));
    return isSame ? [] : [{ field, first: one, second: other }];
  });
}

/** The field of the form that a line of its sheet and a column tell of. */
export function fieldAt(rows: readonly SheetRow[], fields: TypedFields, line: number, column: string): string {
  if ((SHEET_HEAD as readonly string[]).includes(column)) return column;
  // The head is line 1.
  const row = filledIn(rows, fields)[line - 2];
  if (!row) return 'measuredAt';
  return fieldOf((ROW_FIELDS as readonly string[]).includes(column) ? (column as RowField) : 'value', row);
}
