import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { InstrumentProfile, ProfileTable } from '../kinds/instrument-profile.js';
import { LoggerClock } from '../process-logs/logger/logger-clock.js';
import { decimalOf } from './declared-text.js';
import { type ExportLine, type ExportSource, isQif, sourceOfExport } from './export-lines.js';
import type { Known } from './known.js';
import type { ResultSheet } from './result-rules.js';
import { readRow, type SheetRow } from './results-file.js';

/** A file of an instrument in the folder of a lot: the profile by which it is read is named by its folder. */
export interface InstrumentExport {
  /** As it is named in the folder of its lot. */
  readonly file: string;
  /** Where it lay, if that was elsewhere. */
  readonly at?: string;
  readonly path: string;
  readonly sha256: string;
  readonly bytes: Uint8Array;
  readonly profile: string;
}

/**
 * Exports as result sheets, each by the newest revision of its profile. The export is the evidence, and each value keeps the
 * line that it came from.
 * @throws BadInputError with everything that is wrong: a profile that nobody knows, a column that is missing or doubled, a
 * value that is none.
 */
export async function sheetsOfExports(
  exports: readonly InstrumentExport[],
  known: Known,
): Promise<(ResultSheet & { readonly path: string })[]> {
  const problems: Problem[] = [];
  const sheets: (ResultSheet & { readonly path: string })[] = [];
  for (const { bytes, profile: code, at: _, ...file } of exports) {
    const profile = await known.body('instrument-profile', code);
    if (profile === undefined) {
      problems.push({
        code: 'unknown-profile',
        file: file.file,
        found: `the folder exports/${code}, and no instrument profile ${code}`,
        expected: 'a folder named by the profile of the instrument',
        remedy: 'take in the profile with it, or rename the folder',
      });
      continue;
    }
    const read = await readExport(file.file, bytes, profile);
    problems.push(...read.problems);
    if (read.rows.length > 0)
      sheets.push({ ...file, rows: read.rows, readBy: { profile: code, revision: profile.revision } });
  }
  if (problems.length > 0) throw new BadInputError(problems);
  return sheets;
}

interface Read {
  readonly rows: readonly SheetRow[];
  readonly problems: readonly Problem[];
}

/** One export by its profile: text, a workbook, or results by QIF. */
export async function readExport(file: string, bytes: Uint8Array, declared: InstrumentProfile): Promise<Read> {
  // Numbers of QIF have a point, by its schema.
  const profile: InstrumentProfile = isQif(file) ? { ...declared, decimal: 'point' } : declared;
  try {
    return readTables(file, await sourceOfExport(file, bytes, profile), profile);
  } catch (error) {
    if (error instanceof BadInputError) return { rows: [], problems: error.problems };
    throw error;
  }
}

function readTables(file: string, source: ExportSource, profile: InstrumentProfile): Read {
  const tables = profile.tables.map((table) => {
    const lines = source(table.sheet);
    return { table, lines, at: 'code' in lines ? undefined : beginOf(lines, table) };
  });
  const all = tables.map(({ table, lines, at }): Read => {
    if ('code' in lines) return { rows: [], problems: [lines] };
    if (at === undefined) {
      const problem = { code: 'columns', file, found: 'no such line', expected: `a line "${table.begins}"` };
      return { rows: [], problems: [{ ...problem, remedy: 'export the table too, or correct the profile' }] };
    }
    const ends = tables.flatMap((other) =>
      other.table.sheet === table.sheet && other.at !== undefined && other.at > at ? [other.at - 1] : [],
    );
    return readTable(file, lines.slice(0, Math.min(lines.length, ...ends)), at, table, profile);
  });
  return {
    rows: all.flatMap(({ rows }) => rows),
    problems: all.flatMap(({ problems }) => problems).slice(0, MOST.problemsOfFile),
  };
}

/** Index of the first line of a table, behind the one with which it begins. */
function beginOf(lines: readonly ExportLine[], { begins }: ProfileTable): number | undefined {
  if (begins === undefined) return 0;
  const at = lines.findIndex(({ text }) => text === begins.trim());
  return at < 0 ? undefined : at + 1;
}

function readTable(
  file: string,
  lines: readonly ExportLine[],
  from: number,
  table: ProfileTable,
  profile: InstrumentProfile,
): Read {
  const headAt = from + table.headerLines;
  const head = lines[headAt]?.cells() ?? [];
  const problems = headProblems(file, headAt + 1, head, table);
  if (problems.length > 0) return { rows: [], problems };
  const clock = new LoggerClock(profile.time.form, profile.time.zone, 0);
  const counts = new Map<string, number>();
  const rows: SheetRow[] = [];
  for (let index = headAt + 1; index < lines.length && problems.length < MOST.problemsOfFile; index++) {
    const line = lines[index]!.line ?? index + 1;
    // The table ends where a line holds nothing.
    if (lines[index]!.text === '') {
      if (rows.length > 0) break;
      continue;
    }
    const cells = lines[index]!.cells(head.length);
    if (cells?.length !== head.length) {
      const found = cells === undefined ? 'a quote that is not closed' : `${cells.length} fields`;
      const expected = `${head.length}, as in the head line`;
      problems.push({ code: 'columns', file, line, found, expected, remedy: 'export it again; nothing is guessed' });
      continue;
    }
    const cell = (column: string) => cells[head.indexOf(column)]!;
    for (const value of table.values) {
      // An instrument leaves open what it did not measure.
      if (cell(value.column) === '') continue;
      const written = rowOf(cell, value, table, profile, clock, counts);
      const read = readRow(file, line, written);
      if ('row' in read) rows.push(read.row);
      else problems.push(...read.problems.map((problem) => atColumn(problem, value.column, table)));
    }
  }
  return { rows, problems };
}

function headProblems(file: string, line: number, head: readonly string[], table: ProfileTable): Problem[] {
  const asked = [
    ...table.columns.map(({ column }) => column),
    ...table.values.flatMap(({ column, uncertainty }) => [column, ...(uncertainty === undefined ? [] : [uncertainty])]),
  ];
  return [...new Set(asked)].flatMap((column) => {
    const times = head.filter((name) => name === column).length;
    if (times === 1) return [];
    const found = times === 0 ? `no column "${column}"` : `the column "${column}" ${times} times`;
    const remedy =
      times === 0 ? 'export it too, or correct the profile' : 'export it once; which of them counts is not guessed';
    return [{ code: 'columns', file, line, field: column, found, expected: 'each column of the profile once', remedy }];
  });
}

/** The cells of a result sheet, as text, that a row of the export says. */
function rowOf(
  cell: (column: string) => string,
  { column, characteristic, ucum, uncertainty }: ProfileTable['values'][number],
  { columns, constants }: ProfileTable,
  profile: InstrumentProfile,
  clock: LoggerClock,
  counts: Map<string, number>,
): Record<string, string> {
  const said: Record<string, string> = Object.fromEntries(columns.map((one) => [one.is, cell(one.column)]));
  const moment = (text: string | undefined) => {
    if (text === undefined || text === '') return text;
    const us = clock.read(text);
    // What is no time of this form stays as it is, and is refused as such.
    return us === undefined ? text : new Date(us / 1000).toISOString();
  };
  const counted = [said.specimen, said.piece, characteristic].join('\n');
  const number = (counts.get(counted) ?? 0) + 1;
  counts.set(counted, number);
  const { instrument, analyst, method, replicate } = constants;
  return {
    ...(instrument === undefined ? {} : { instrument }),
    ...(analyst === undefined ? {} : { analyst }),
    replicate: replicate === 'counted' ? String(number) : '1',
    ...said,
    ...(said.startedAt === undefined ? {} : { startedAt: moment(said.startedAt)! }),
    measuredAt: moment(said.measuredAt)!,
    ...{ characteristic, ucum, method: method.method, methodRevision: String(method.revision) },
    value: decimalOf(cell(column), profile.decimal),
    ...(uncertainty === undefined ? {} : { standardUncertainty: decimalOf(cell(uncertainty), profile.decimal) }),
  };
}

/** Names the column of the export, where the field of a result sheet has one. */
const atColumn = ({ field = '', ...problem }: Problem, value: string, { columns }: ProfileTable): Problem => ({
  ...problem,
  field: field === 'value' ? value : (columns.find(({ is }) => is === field)?.column ?? field),
});
