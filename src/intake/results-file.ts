import { z } from 'zod';
import type { Problem } from '../base/errors.js';
import { Code, Moment, PositiveDecimal, Text, whole } from '../kinds/fields.js';
import { CertifiedValue } from '../kinds/receipt.js';
import { RESULT_COLUMNS } from '../kinds/result.js';
import { askedForText } from '../report/phrases/asked-for.js';
import { readSheet, type SheetCells } from './csv-sheet.js';

const optional = <T extends z.ZodType>(type: T) => z.union([z.literal('').transform(() => ''), type]).default('');

const Row = z.strictObject({
  specimen: Code,
  piece: optional(Code),
  characteristic: Code,
  replicate: whole(1, 100_000),
  value: CertifiedValue,
  ucum: z.string().min(1).max(40),
  standardUncertainty: optional(PositiveDecimal),
  startedAt: optional(Moment),
  measuredAt: Moment,
  instrument: Code,
  analyst: Code,
  method: Code,
  methodRevision: whole(1),
  enteredBy: optional(Code),
  checkedBy: optional(Code),
  reason: optional(Text),
});

/** One line of a result sheet, checked field by field; references are checked later. */
export type SheetRow = z.infer<typeof Row> & { readonly line: number };

/** What is filled in when something was measured: a row of a prepared sheet in which all of it is empty still waits. */
const FILLED_IN: readonly string[] = ['value', 'measuredAt', 'instrument', 'analyst'];

/** Reads a result sheet, one value a line. Rows that wait are passed over. */
export function readResultSheet(file: string, bytes: Uint8Array): { rows: SheetRow[]; problems: Problem[] } {
  const rows: SheetRow[] = [];
  const problems = readSheet(file, bytes, RESULT_COLUMNS, ({ line, cells }) => {
    const isEmpty = (name: string) => cells[name] === '';
    if (FILLED_IN.every(isEmpty) && !isEmpty('specimen') && !isEmpty('characteristic')) return [];
    const read = readRow(file, line, cells);
    if ('problems' in read) return read.problems;
    rows.push(read.row);
    return [];
  });
  return { rows, problems };
}

/** One row of a sheet by its cells, or what is wrong with it. */
export function readRow(
  file: string,
  line: number,
  cells: SheetCells['cells'],
): { row: SheetRow } | { problems: Problem[] } {
  const parsed = Row.safeParse(cells);
  if (parsed.success) return { row: { ...parsed.data, line } };
  return { problems: parsed.error.issues.map((issue) => rowProblem(file, line, issue, cells)) };
}

function rowProblem(file: string, line: number, issue: z.core.$ZodIssue, cells: SheetCells['cells']): Problem {
  const field = String(issue.path[0] ?? '');
  return {
    code: 'field',
    file,
    line,
    field,
    found: JSON.stringify(cells[field] ?? ''),
    expected: askedForText(issue),
    remedy: 'correct the value',
  };
}
