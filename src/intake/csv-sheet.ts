import { CsvFault, type CsvRecord, csvRecords } from '../base/csv-records.js';
import type { Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { utf8Text } from '../base/utf8.js';

/** Columns that a sheet may have, and those without which it is none. */
export interface SheetColumns {
  readonly all: readonly string[];
  readonly required: readonly string[];
}

/** One row of a sheet: its cells by their columns, without blanks around them. */
export interface SheetCells {
  readonly line: number;
  readonly cells: Readonly<Record<string, string>>;
}

type Read = { readonly head: CsvRecord; readonly body: readonly CsvRecord[] };

/**
 * Reads a sheet: CSV in UTF-8 with a comma and a decimal point, a head line with known columns, one row a line.
 * @param readRow says what is wrong with a row.
 * @returns everything that is wrong with the sheet, up to the limit of one file.
 */
export function readSheet(
  file: string,
  bytes: Uint8Array,
  columns: SheetColumns,
  readRow: (row: SheetCells) => readonly Problem[],
): Problem[] {
  const read = readRecords(file, bytes);
  if ('problem' in read) return [read.problem];
  const { head, body } = read;
  const headProblems = checkHead(file, head.fields, columns);
  if (headProblems.length > 0) return headProblems;
  if (body.length > MOST.sheetRows) {
    return [
      {
        code: 'too-many-rows',
        file,
        line: body.at(-1)!.line,
        found: `more than ${MOST.sheetRows} rows`,
        expected: `at most ${MOST.sheetRows} rows in one sheet`,
        remedy: 'split it: a lot may have several sheets',
      },
    ];
  }
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
    const cells = Object.fromEntries(head.fields.map((name, index) => [name, fields[index]!.trim()]));
    problems.push(...readRow({ line, cells }));
  }
  return problems;
}

function readRecords(file: string, bytes: Uint8Array): Read | { problem: Problem } {
  const problem = (code: string, rest: Omit<Problem, 'code' | 'file'>) => ({ problem: { code, file, ...rest } });
  const decoded = utf8Text(file, bytes);
  if ('problem' in decoded) return decoded;
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
  return { head, body };
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

function checkHead(file: string, names: readonly string[], { all: known, required }: SheetColumns): Problem[] {
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
    ...required
      .filter((name) => !names.includes(name))
      .map((name) => problem(name, 'no such column', `the columns ${required.join(', ')}`, 'add it')),
    ...names
      .filter((name) => !known.includes(name))
      .map((name) => problem(name, `the column "${name}"`, `only ${known.join(', ')}`, 'rename or remove it')),
    ...names
      .filter((name, index) => names.indexOf(name) !== index)
      .map((name) => problem(name, `the column "${name}" twice`, 'each column once', 'remove one of the two')),
  ];
  return problems.slice(0, MOST.problemsOfFile);
}
