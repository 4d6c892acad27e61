import { z } from 'zod';
import { CsvFault, type CsvRecord, csvRecords } from '../base/csv-records.js';
import type { Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { utf8Text } from '../base/utf8.js';
import { Code, Moment, PositiveDecimal, Text, whole } from '../kinds/fields.js';
import { CertifiedValue } from '../kinds/receipt.js';
import { RESULT_COLUMNS } from '../kinds/result.js';

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

/** Reads a result sheet: CSV in UTF-8 with a comma and a decimal point, one value a line. Rows that wait are passed over. */
export function readResultSheet(file: string, bytes: Uint8Array): { rows: SheetRow[]; problems: Problem[] } {
  const problem = (code: string, rest: Omit<Problem, 'code' | 'file'>): { rows: []; problems: Problem[] } => ({
    rows: [],
    problems: [{ code, file, ...rest }],
  });
  const decoded = utf8Text(file, bytes);
  if ('problem' in decoded) return { rows: [], problems: [decoded.problem] };
  const { text } = decoded;
  if (!text.endsWith('\n')) {
    return problem('cut-file', {
      line: text.split('\n').length,
      found: 'a last line without line end',
      expected: 'a line end after the last row',
      remedy: 'the file may be cut: copy it again, or add the line end',
    });
  }
  const long = longLine(text);
  if (long !== undefined) {
    return problem('csv', {
      line: long,
      found: `more than ${MOST.sheetLineCharacters} characters`,
      expected: `at most ${MOST.sheetLineCharacters} characters in a row`,
      remedy: 'correct the line',
    });
  }
  const records: CsvRecord[] = [];
  let odd = 0;
  try {
    for (const { fields, line } of csvRecords(text, MOST.sheetLineCharacters)) {
      // What no sheet has is not held, and a file that is none is not read to its end.
      const isLong = fields.length > MOST.sheetColumns;
      records.push({ line, fields: isLong ? fields.slice(0, MOST.sheetColumns + 1) : fields });
      odd += !isLong && fields.length === records[0]!.fields.length ? 0 : 1;
      // One more row than may be, behind the head line, shows that there are too many.
      if (odd > MOST.problemsOfFile || records.length === MOST.sheetRows + 2) break;
    }
  } catch (error) {
    if (!(error instanceof CsvFault)) throw error;
    const { line, column, found, expected } = error;
    return problem('csv', { line, column, found, expected, remedy: 'correct the line' });
  }
  const [head, ...body] = records;
  if (!head) return problem('empty', { found: 'no line', expected: 'a head line', remedy: 'fill or remove the file' });
  const headProblems = checkHead(file, head.fields);
  if (headProblems.length > 0) return { rows: [], problems: headProblems };
  if (body.length > MOST.sheetRows) {
    return problem('too-many-rows', {
      line: body.at(-1)!.line,
      found: `more than ${MOST.sheetRows} rows`,
      expected: `at most ${MOST.sheetRows} rows in one sheet`,
      remedy: 'split it: a lot may have several sheets',
    });
  }
  const rows: SheetRow[] = [];
  const problems: Problem[] = [];
  for (const { fields, line } of body) {
    if (problems.length >= MOST.problemsOfFile) {
      problems.push({
        code: 'too-many-problems',
        file,
        line,
        found: `${MOST.problemsOfFile} things that are wrong in the lines before`,
        expected: 'a sheet of which single values are wrong',
        remedy:
          'look whether its columns are shifted or its numbers written otherwise; lines from here on were not read',
      });
      break;
    }
    if (fields.length !== head.fields.length) {
      problems.push({
        code: 'columns',
        file,
        line,
        found: fields.length > MOST.sheetColumns ? `more than ${MOST.sheetColumns} fields` : `${fields.length} fields`,
        expected: `${head.fields.length}, as in the head line`,
        remedy: 'correct the line; a decimal comma splits a field in two',
      });
      continue;
    }
    const isEmpty = (name: string) => fields[head.fields.indexOf(name)]!.trim() === '';
    if (FILLED_IN.every(isEmpty) && !isEmpty('specimen') && !isEmpty('characteristic')) continue;
    const parsed = Row.safeParse(Object.fromEntries(head.fields.map((name, index) => [name, fields[index]!.trim()])));
    if (parsed.success) rows.push({ ...parsed.data, line });
    else problems.push(...parsed.error.issues.map((issue) => rowProblem(file, line, issue, head.fields, fields)));
  }
  return { rows, problems };
}

/** Number of the first line that is longer than a row may be. */
function longLine(text: string): number | undefined {
  for (let start = 0, line = 1; start < text.length; line += 1) {
    const end = text.indexOf('\n', start);
    if (end - start > MOST.sheetLineCharacters) return line;
    start = end + 1;
  }
  return undefined;
}

function rowProblem(
  file: string,
  line: number,
  issue: z.core.$ZodIssue,
  names: readonly string[],
  record: readonly string[],
): Problem {
  const field = String(issue.path[0] ?? '');
  const inner = issue.code === 'invalid_union' ? issue.errors.at(-1)?.[0]?.message : undefined;
  return {
    code: 'field',
    file,
    line,
    field,
    found: JSON.stringify(record[names.indexOf(field)] ?? ''),
    expected: inner ?? issue.message,
    remedy: 'correct the value',
  };
}

function checkHead(file: string, names: readonly string[]): Problem[] {
  const known: readonly string[] = RESULT_COLUMNS.all;
  const problem = (field: string, found: string, expected: string, remedy: string): Problem => ({
    code: 'columns',
    file,
    line: 1,
    field,
    found,
    expected,
    remedy,
  });
  const problems = [
    ...RESULT_COLUMNS.required
      .filter((name) => !names.includes(name))
      .map((name) => problem(name, 'no such column', `the columns ${RESULT_COLUMNS.required.join(', ')}`, 'add it')),
    ...names
      .filter((name) => !known.includes(name))
      .map((name) => problem(name, `the column "${name}"`, `only ${known.join(', ')}`, 'rename or remove it')),
    ...names
      .filter((name, index) => names.indexOf(name) !== index)
      .map((name) => problem(name, `the column "${name}" twice`, 'each column once', 'remove one of the two')),
  ];
  return problems.slice(0, MOST.problemsOfFile);
}
