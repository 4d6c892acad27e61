import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { RejectionCode } from '../dossier/finding-detail.js';

/** Why a line was not used, and what it held, as facts: src/report/phrases/rejected-rows.ts words them. */
export interface Refusal {
  readonly code: RejectionCode;
  readonly field: string;
  /** The beginning of what stood there, as JSON text, or the time that was read; empty for a line that was too long to be kept. */
  readonly found: string;
  /** Of a line with another number of fields. */
  readonly fields?: { readonly found: number; readonly expected: number };
  /** Of a time going back: the latest time before it, as text. */
  readonly latest?: string;
}

/** One line that was not used. */
export interface Rejection extends Refusal {
  /** Counted from 1. */
  readonly line: number;
  /** Which of several files of a build. */
  readonly file?: string;
}

/** How many lines were not used, by reason. */
export type RejectionCounts = Readonly<Partial<Record<RejectionCode, number>>>;

const LONGEST_QUOTE = 60;
/** So many rejected lines are listed; all are counted. */
const MOST_LISTED = 1000;

/** The rejected lines of a file: the first thousand in full, and how many there were of each kind. */
export class Rejections {
  readonly listed: Rejection[] = [];
  /** How many there were. */
  total = 0;
  private readonly counts = new Map<RejectionCode, number>();

  /**
   * @param fileName of a line that does not name its file.
   * @throws BadInputError when there are so many that the file as a whole cannot be what it is taken for.
   */
  add(rejection: Rejection, fileName = ''): void {
    this.total += 1;
    this.counts.set(rejection.code, (this.counts.get(rejection.code) ?? 0) + 1);
    if (this.listed.length < MOST_LISTED) this.listed.push(rejection);
    if (this.total > MOST.logRejectedLines) this.refuseFile(rejection, fileName);
  }

  private refuseFile({ line, file }: Rejection, fileName: string): never {
    const [code, count] = [...this.counts].reduce((most, next) => (next[1] > most[1] ? next : most));
    throw new BadInputError([
      {
        code: 'log-rejected',
        file: file ?? fileName,
        line,
        found: `more than ${MOST.logRejectedLines} lines that cannot be used, ${count} of them for: ${code}`,
        expected: 'a log of which single lines cannot be read',
        remedy: 'correct the export, or copy the log from the recorder again; nothing of it was used',
      },
    ]);
  }

  byCode(): RejectionCounts {
    return Object.fromEntries([...this.counts].sort(([a], [b]) => (a < b ? -1 : 1)));
  }
}

/** The beginning of a text as it may be shown: short, and control characters made visible. */
export function quote(text: string): string {
  const short = text.length > LONGEST_QUOTE ? `${text.slice(0, LONGEST_QUOTE)}…` : text;
  return JSON.stringify(short);
}

export function emptyFile(file: string): Problem {
  return {
    code: 'log-empty',
    file,
    found: 'an empty file',
    expected: 'a log with a header line and rows',
    remedy: 'copy the log from the recorder again',
  };
}

/** @param first the first rejected line, if there was any line at all. */
export function noUsableRow(file: string, first: Rejection | undefined): Problem {
  const problem = {
    code: 'log-without-rows',
    file,
    remedy: 'copy the log from the recorder again, or correct the export',
  };
  if (first === undefined) {
    return { ...problem, line: 1, found: 'no row', expected: 'at least one complete row, ended by a line feed' };
  }
  const { line, code, fields } = first;
  // Of a line that was too long nothing was kept.
  let found = code === 'line too long' ? 'more than 65 536 bytes' : first.found;
  if (fields) found = `${fields.found} instead of ${fields.expected}: ${found}`;
  const expected = `at least one complete row${fields ? ` of ${fields.expected} fields` : ''}, ended by a line feed`;
  return { ...problem, line, found: `no usable row; line ${line}, ${code}: ${found}`, expected };
}
