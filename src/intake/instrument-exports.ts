import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { utf8Text } from '../base/utf8.js';
import type { InstrumentProfile, ProfileTable } from '../kinds/instrument-profile.js';
import { splitCsvLine } from '../process-logs/csv-line.js';
import { LoggerClock } from '../process-logs/logger/logger-clock.js';
import type { Known } from './known.js';
import { readQif, unitProblem } from './qif-results.js';
import type { ResultSheet } from './result-rules.js';
import { readRow, type SheetRow } from './results-file.js';
import { readWorkbook } from './workbook.js';

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

const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t', bar: '|' } as const;

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

/** A line of a text, a row of a sheet, or a value of a QIF file. */
interface Line {
  /** Where it stands, if it is not counted from the beginning. */
  readonly line?: number;
  /** What it begins a table with; nothing where it holds nothing. */
  readonly text: string;
  /** @param columns as many as the head has. Undefined for a quote that is not closed. */
  cells(columns?: number): string[] | undefined;
}

/** The lines of a sheet, or why there are none. */
type Source = (sheet: string | undefined) => readonly Line[] | Problem;

/** One export by its profile: text, a workbook, or results by QIF. */
export async function readExport(file: string, bytes: Uint8Array, profile: InstrumentProfile): Promise<Read> {
  try {
    const source = /\.qif$/i.test(file)
      ? ofQif(file, bytes, profile)
      : /\.xlsx$/i.test(file)
        ? await ofWorkbook(file, bytes, profile)
        : ofText(file, bytes, profile);
    return readTables(file, source, profile);
  } catch (error) {
    if (error instanceof BadInputError) return { rows: [], problems: error.problems };
    throw error;
  }
}

function ofText(file: string, bytes: Uint8Array, { delimiter }: InstrumentProfile): Source {
  const decoded = utf8Text(file, bytes);
  if ('problem' in decoded) throw new BadInputError([decoded.problem]);
  const sign = DELIMITERS[delimiter];
  const lines = decoded.text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .map((text): Line => {
      const cells = () => splitCsvLine(text, sign)?.map((cell) => cell.trim());
      return { text: text.replaceAll(sign, '').trim() === '' ? '' : text.trim(), cells };
    });
  return (sheet) =>
    sheet === undefined
      ? lines
      : {
          ...{ code: 'columns', file, field: 'sheet', found: 'a text, which has no sheets' },
          ...{ expected: `a workbook (.xlsx) with the sheet ${sheet}`, remedy: 'export it so, or correct the profile' },
        };
}

async function ofWorkbook(file: string, bytes: Uint8Array, profile: InstrumentProfile): Promise<Source> {
  const { form, zone } = profile.time;
  // What a workbook counts as days is a time of the clock that the profile names; of one without a zone it is no moment.
  const clock = zone === undefined ? undefined : new LoggerClock('YYYY-MM-DD HH:mm:ss.S', zone, 0);
  const sheets = await readWorkbook(file, bytes, {
    number: (value) => (profile.decimal === 'comma' ? String(value).replace('.', ',') : String(value)),
    time: (wallMs) => {
      if (Number.isNaN(new Date(wallMs).getTime())) return `${form}: no day`;
      const wall = new Date(wallMs).toISOString().slice(0, -1).replace('T', ' ');
      const us = clock?.read(wall);
      return us === undefined ? wall : new Date(us / 1000).toISOString();
    },
  });
  return (sheet) => {
    const rows = sheet === undefined ? [...sheets.values()][0] : sheets.get(sheet);
    if (rows !== undefined) return rows.map(lineOf);
    const found = `the sheets ${[...sheets.keys()].join(', ')}`;
    const remedy = 'export the sheet too, or correct the profile';
    return { code: 'columns', file, field: 'sheet', found, expected: `a sheet ${sheet ?? ''}`.trim(), remedy };
  };
}

const SERIAL = 'SerialNumber';
const TIME = 'TimeStamp';
const uncertaintyOf = (name: string) => `u(${name})`;

/**
 * The values of a QIF file as rows under a head of their own: the serial number, the time, and for each characteristic by its
 * name a column and one of its uncertainty. Each row holds one value.
 * @throws BadInputError also for a value in another unit than the profile takes it in, and for two characteristics of one name.
 */
function ofQif(file: string, bytes: Uint8Array, profile: InstrumentProfile): Source {
  const results = readQif(file, bytes);
  const ucums = new Map(
    profile.tables.flatMap(({ values }) => values.map(({ column, ucum }) => [column, ucum] as const)),
  );
  const items = new Map<string, string>();
  const problems = results.values.flatMap((value): Problem[] => {
    const { name, item, line } = value;
    const ucum = ucums.get(name);
    if (ucum === undefined) return [];
    const first = items.get(name) ?? item;
    items.set(name, first);
    if (first === item) return [unitProblem(file, results, value, ucum) ?? []].flat();
    const found = `the characteristics ${first} and ${item} of one name`;
    const remedy = 'give them names of their own where the measurement is planned';
    return [{ code: 'qif', file, line, field: name, found, expected: 'one characteristic of each name', remedy }];
  });
  if (problems.length > 0) throw new BadInputError(problems.slice(0, MOST.problemsOfFile));
  const names = [...new Set(results.names)];
  const head = [SERIAL, TIME, ...names, ...names.map(uncertaintyOf)];
  const lines = results.values.map((one): Line => {
    const said = new Map([
      ...([
        [SERIAL, one.serialNumber],
        [TIME, one.timeStamp],
      ] as const),
      ...([
        [one.name, one.value],
        [uncertaintyOf(one.name), one.combinedUncertainty],
      ] as const),
    ]);
    return { line: one.line, text: one.value, cells: () => head.map((name) => said.get(name) ?? '') };
  });
  return () => [{ text: SERIAL, cells: () => head }, ...lines];
}

/** A row of a sheet ends with the last cell that was ever filled in. */
const lineOf = (row: readonly string[]): Line => ({
  text: row
    .filter((cell) => cell.trim() !== '')
    .join(' ')
    .trim(),
  cells: (columns = row.length) => {
    const trimmed = row.map((cell) => cell.trim());
    const last = trimmed.findLastIndex((cell) => cell !== '');
    return Array.from({ length: Math.max(columns, last + 1) }, (_, at) => trimmed[at] ?? '');
  },
});

function readTables(file: string, source: Source, profile: InstrumentProfile): Read {
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
function beginOf(lines: readonly Line[], { begins }: ProfileTable): number | undefined {
  if (begins === undefined) return 0;
  const at = lines.findIndex(({ text }) => text === begins.trim());
  return at < 0 ? undefined : at + 1;
}

function readTable(
  file: string,
  lines: readonly Line[],
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

/** With a point. What has the other sign too may be thousands: it stays as it is, and is refused as no number. */
function decimalOf(text: string, decimal: InstrumentProfile['decimal']): string {
  if (decimal === 'point') return text;
  return text.includes('.') ? text.replaceAll('.', ' ') : text.replace(',', '.');
}

/** Names the column of the export, where the field of a result sheet has one. */
const atColumn = ({ field = '', ...problem }: Problem, value: string, { columns }: ProfileTable): Problem => ({
  ...problem,
  field: field === 'value' ? value : (columns.find(({ is }) => is === field)?.column ?? field),
});
