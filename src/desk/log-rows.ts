import { BadInputError, NotFoundError } from '../base/errors.js';
import type { Facts } from '../dossier/facts.js';
import { timeText } from '../dossier/time-text.js';
import {
  excerptBetween,
  lastTimeUs,
  type RawRow,
  type RawRows,
  rowsBetween,
} from '../process-logs/archive/archive-reader.js';
import { splitCsvLine } from '../process-logs/csv-line.js';
import { readTimestampUs, timestampText } from '../process-logs/timestamp.js';
import { LOG_PAGE } from '../report/phrases/log-page.js';
import type { Store } from '../store/store.js';
import { ROWS_SPAN_MS } from './log-page.js';

export interface RowsQuestion {
  /** True time; the first row of the file when absent. */
  readonly from?: string | undefined;
  /** Ten minutes after `from` when absent. */
  readonly to?: string | undefined;
  /** Which of the files of the build, from 1. */
  readonly file: number;
}

/** More make a page that is too heavy for a phone on a bad line. */
const MOST_ROWS = 150;
const LONGEST_SPAN_MS = 60 * 60_000;

/**
 * Raw rows of the log of a build, as received.
 * @throws NotFoundError when there is no such log, BadInputError when the times cannot be.
 */
export async function rowsPage(facts: Facts, build: string, question: RowsQuestion, store: Pick<Store, 'archivedLog'>) {
  const { file, files, from, to, fromUs, toUs, offsetUs } = asked(facts, build, question);
  const found = await rowsBetween(await store.archivedLog(file.sha256), fromUs, toUs, MOST_ROWS);
  const at = (timeUs: number) => timestampText(timeUs + offsetUs);
  return {
    lot: facts.lot.body.lot,
    build,
    file,
    number: question.file,
    files: files.map(({ fileName }, index) => ({ fileName, number: index + 1 })),
    from,
    to,
    fromShown: timeText(from),
    toShown: timeText(to),
    offsetMs: file.clockOffsetMs ?? 0,
    earlier: new Date(Date.parse(from) - ROWS_SPAN_MS).toISOString(),
    later: to,
    isArchived: found !== undefined,
    isCut: found?.isCut ?? false,
    // The last row shown is shown again first: several rows may have its time.
    next: nextOf(found, at),
    ...tableOf(found),
  };
}

/**
 * The same rows as one file, as received.
 * @throws as `rowsPage`; NotFoundError too when the raw rows are not archived.
 */
export async function rowsFile(facts: Facts, build: string, question: RowsQuestion, store: Pick<Store, 'archivedLog'>) {
  const { file, fromUs, toUs } = asked(facts, build, question);
  const bytes = await excerptBetween(await store.archivedLog(file.sha256), fromUs, toUs);
  if (bytes === undefined) throw new NotFoundError('archive of raw rows', file.fileName);
  return { bytes, fileName: LOG_PAGE.rowsFile(file.fileName.split('/').at(-1)!.replace(/\.gz$/, '')) };
}

/** What of which file is asked for, on the clock of its recorder. */
function asked(facts: Facts, build: string, question: RowsQuestion) {
  const files = facts.dossier.logs.filter((log) => log.build === build);
  const file = files[question.file - 1];
  if (file === undefined) throw new NotFoundError(`log of build ${build}`, `file ${question.file}`);
  const from = question.from ?? file.firstAt;
  // All that it told was before the closure, and is no row.
  if (from === null) throw new NotFoundError('row of the build', file.fileName);
  const to = question.to ?? new Date(Date.parse(from) + ROWS_SPAN_MS).toISOString();
  checkSpan(from, to);
  const offsetUs = (file.clockOffsetMs ?? 0) * 1000;
  const [fromUs, toUs] = [from, to].map((text) => readTimestampUs(text)! - offsetUs) as [number, number];
  return { file, files, from, to, fromUs, toUs, offsetUs };
}

function checkSpan(from: string, to: string): void {
  const spanMs = Date.parse(to) - Date.parse(from);
  if (spanMs > 0 && spanMs <= LONGEST_SPAN_MS) return;
  const found = `${from} to ${to}`;
  const expected = 'a time and a later one, at most one hour apart';
  throw new BadInputError([{ code: 'field', field: 'to', found, expected, remedy: 'choose a shorter time' }]);
}

function nextOf(found: RawRows | undefined, at: (timeUs: number) => string): string | null {
  const lastUs = found?.isCut ? lastTimeUs(found) : undefined;
  return lastUs === undefined ? null : at(lastUs);
}

/** A CSV log in its columns; of a stream each observation as it stands. */
function tableOf(found: RawRows | undefined) {
  if (found === undefined) return { columns: [], rows: [] };
  if (found.form !== 'csv')
    return { columns: [LOG_PAGE.observation], rows: found.rows.map(({ line, text }) => ({ line, cells: [text] })) };
  const columns = splitCsvLine(found.header) ?? [found.header];
  return { columns, rows: found.rows.map((row) => ({ line: row.line, cells: cellsOf(row, columns.length) })) };
}

/** A line that does not fit the header is shown in one piece. */
function cellsOf({ text }: RawRow, columns: number): string[] {
  const cells = splitCsvLine(text);
  return cells?.length === columns ? cells : [text];
}
