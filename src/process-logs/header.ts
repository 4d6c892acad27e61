import { BadInputError, type Problem } from '../base/errors.js';
import { strictTextOf } from './bytes.js';
import { splitCsvLine } from './csv-line.js';
import type { PlannedChannel } from './plan.js';
import { quote } from './rejection.js';
import { hasControlCharacter } from './row-text.js';

/** The columns that every log begins with, in this order. */
export const FIRST_COLUMNS: readonly string[] = ['timestamp', 'layer', 'zone', 'step'];

/** First cell of the optional second line that gives the unit of each channel. */
export const UNIT_ROW_MARK = 'ucum';

const REMEDY = 'export the log again with this header, or correct the channels of the log in the lot file';

/**
 * Reads the first line of a log: `timestamp,layer,zone,step` and then the planned channels in any order.
 * @returns for each column behind the first four, the index of its channel in the plan.
 * @throws BadInputError naming what is missing, repeated or not expected.
 */
export function readHeader(bytes: Uint8Array, channels: readonly PlannedChannel[], fileName: string): Int32Array {
  const text = strictTextOf(bytes, 0, bytes.length);
  const names = text === undefined ? undefined : splitCsvLine(text);
  const expected = `a header line ${[...FIRST_COLUMNS, ...channels.map((channel) => channel.name)].join(',')}`;
  if (names === undefined || FIRST_COLUMNS.some((name, index) => names[index] !== name)) {
    const found = text === undefined ? 'bytes that are not UTF-8 text' : quote(text);
    throw new BadInputError([headerProblem(fileName, found, expected)]);
  }
  const columns = names.slice(FIRST_COLUMNS.length);
  const problems = columnProblems(columns, channels, fileName);
  if (problems.length > 0) throw new BadInputError(problems);
  return Int32Array.from(columns, (name) => channels.findIndex((channel) => channel.name === name));
}

/** True for a line that begins with the mark of the unit row. */
export function isUnitRow(bytes: Uint8Array, start: number, end: number): boolean {
  const text = strictTextOf(bytes, start, Math.min(end, start + UNIT_ROW_MARK.length + 3));
  return text !== undefined && /^(?:ucum|"ucum")(?:,|$)/.test(text);
}

/**
 * Reads the unit row, `ucum,,,,W,[ppm],…`.
 * @returns the unit of each channel of the plan, as written.
 * @throws BadInputError when it does not give one unit for each channel.
 */
export function readUnitRow(bytes: Uint8Array, order: Int32Array, fileName: string): string[] {
  const text = strictTextOf(bytes, 0, bytes.length) ?? '';
  const cells = splitCsvLine(text) ?? [];
  const units = cells.slice(FIRST_COLUMNS.length);
  if (units.length !== order.length || cells.slice(1, FIRST_COLUMNS.length).some((cell) => cell !== '')) {
    const expected = `${UNIT_ROW_MARK},,,, and then one unit for each of ${order.length} channels`;
    throw new BadInputError([
      { code: 'log-unit-row', file: fileName, line: 2, found: quote(text), expected, remedy: 'correct the unit row' },
    ]);
  }
  const byChannel = new Array<string>(units.length);
  units.forEach((unit, column) => {
    byChannel[order[column]!] = unit;
  });
  return byChannel;
}

function columnProblems(columns: readonly string[], channels: readonly PlannedChannel[], fileName: string): Problem[] {
  const wanted = new Set(channels.map((channel) => channel.name));
  const problems: Problem[] = [];
  columns.forEach((name, index) => {
    const field = `column ${index + FIRST_COLUMNS.length + 1}`;
    if (name === '' || hasControlCharacter(name)) {
      problems.push(headerProblem(fileName, quote(name), 'the name of a channel', field));
    } else if (columns.indexOf(name) !== index) {
      problems.push(headerProblem(fileName, `${quote(name)} a second time`, 'each channel once', field));
    } else if (!wanted.has(name)) {
      const expected = `one of the channels in the lot file: ${[...wanted].join(', ')}`;
      problems.push(headerProblem(fileName, quote(name), expected, field));
    }
  });
  for (const name of wanted) {
    if (columns.includes(name)) continue;
    problems.push(headerProblem(fileName, 'no such column', `a column ${name}, as the lot file says`, name));
  }
  return problems;
}

function headerProblem(fileName: string, found: string, expected: string, field?: string): Problem {
  const problem: Problem = { code: 'log-header', file: fileName, line: 1, found, expected, remedy: REMEDY };
  return field === undefined ? problem : { ...problem, field };
}
