import { MOST } from '../base/limits.js';
import { fail } from './shape-fault.js';

/** Types of the PLY format under both of their names, with their bytes. */
const TYPES = {
  char: 1,
  int8: 1,
  uchar: 1,
  uint8: 1,
  short: 2,
  int16: 2,
  ushort: 2,
  uint16: 2,
  int: 4,
  int32: 4,
  uint: 4,
  uint32: 4,
  float: 4,
  float32: 4,
  double: 8,
  float64: 8,
} as const;

export type PlyType = keyof typeof TYPES;
export const bytesOf = (type: PlyType): number => TYPES[type];

export interface PlyProperty {
  readonly name: string;
  readonly type: PlyType;
  /** Type of the number of values, where it is a list. */
  readonly count?: PlyType;
}

export interface PlyElement {
  readonly name: string;
  readonly rows: number;
  readonly properties: readonly PlyProperty[];
}

export interface PlyHeader {
  readonly form: 'ascii' | 'binary_little_endian' | 'binary_big_endian';
  readonly elements: readonly PlyElement[];
  /** With its last line end. */
  readonly bytes: number;
  readonly lines: number;
}

const isType = (text: string | undefined): text is PlyType => text !== undefined && Object.hasOwn(TYPES, text);

/** Bytes that a row has at least: a list may be empty. */
export const leastBytes = ({ properties }: PlyElement): number =>
  properties.reduce((sum, { type, count }) => sum + bytesOf(count ?? type), 0);

/**
 * Reads the header of a PLY file (Stanford polygon format, version 1.0).
 * @param start of the file, with as much of it as a header may have.
 */
export function readPlyHeader(start: Buffer): PlyHeader {
  const end = /(?:^|\n)end_header\r?\n/.exec(start.toString('latin1', 0, MOST.shapeHeaderBytes));
  const text = start.toString('latin1', 0, end ? end.index + end[0].length : 4);
  if (!/^ply\r?\n/.test(text)) {
    const found = JSON.stringify(text.slice(0, 4));
    return fail({ code: 'ply-magic', line: 1, found, expected: 'a PLY file, which begins with the line ply' });
  }
  if (end === null) {
    const expected = `a line end_header within ${MOST.shapeHeaderBytes} bytes`;
    return fail({ code: 'ply-header', line: 1, found: 'a header without end', expected });
  }
  const lines = text.split('\n').map((line) => line.replace(/\r$/, ''));
  let form: PlyHeader['form'] | undefined;
  const elements: { name: string; rows: number; properties: PlyProperty[] }[] = [];
  for (const [index, line] of lines.slice(1, -2).entries()) {
    const number = index + 2;
    const [word, ...rest] = line.trim().split(/[ \t]+/);
    const wrong = (expected: string): never =>
      fail({ code: 'ply-header', line: number, found: JSON.stringify(line.slice(0, 80)), expected });
    if (word === 'comment' || word === 'obj_info') continue;
    if (word === 'format') {
      const known = ['ascii', 'binary_little_endian', 'binary_big_endian'] as const;
      form = known.find((one) => one === rest[0] && rest[1] === '1.0');
      form ??= wrong(`format ${known.join(', or ')}, and 1.0`);
    } else if (word === 'element') {
      if (!/^\d{1,15}$/.test(rest[1] ?? '')) wrong('element, a name and a number of rows');
      elements.push({ name: rest[0]!, rows: Number(rest[1]), properties: [] });
    } else if (word === 'property') {
      const last = elements.at(-1) ?? wrong('an element before its properties');
      last.properties.push(propertyOf(rest) ?? wrong('property, a type of the format, and a name'));
    } else wrong('format, element, property, comment, obj_info or end_header');
  }
  const bare = elements.find(({ rows, properties }) => rows > 0 && properties.length === 0);
  if (bare) {
    const found = `${bare.rows} rows of ${bare.name}, which has no property`;
    return fail({ code: 'ply-header', line: 1, found, expected: 'at least one property of an element with rows' });
  }
  form ??= fail({ code: 'ply-header', line: 2, found: 'no line with the format', expected: 'a line with the format' });
  return { form, elements, bytes: text.length, lines: lines.length - 1 };
}

function propertyOf(words: readonly string[]): PlyProperty | undefined {
  if (words[0] !== 'list') {
    const [type, name] = words;
    return isType(type) && name !== undefined && words.length === 2 ? { type, name } : undefined;
  }
  const [, count, type, name] = words;
  const isWhole = isType(count) && !/float|double/.test(count);
  return isWhole && isType(type) && name !== undefined && words.length === 4 ? { type, name, count } : undefined;
}

/** Where the coordinates of the points stand. Ends the reading where there are none, or too many. */
export function pointsOf({ elements }: PlyHeader): { readonly element: PlyElement; readonly at: readonly number[] } {
  const element = elements.find(({ name }) => name === 'vertex');
  if (element === undefined) {
    return fail({ code: 'ply-points', line: 1, found: 'no element vertex', expected: 'points as element vertex' });
  }
  const at = ['x', 'y', 'z'].map((axis) =>
    element.properties.findIndex(({ name, count }) => name === axis && count === undefined),
  );
  if (at.some((place) => place < 0)) {
    const found = element.properties.map(({ name }) => name).join(', ') || 'no properties';
    return fail({ code: 'ply-points', line: 1, found, expected: 'the properties x, y and z of the element vertex' });
  }
  if (element.rows === 0) return fail({ code: 'shape-empty', line: 1, found: 'no point', expected: 'points' });
  if (element.rows > MOST.shapePoints) return tooManyPoints(element.rows);
  return { element, at };
}

export function tooManyPoints(found: number): never {
  return fail({
    code: 'shape-points',
    found: `${found} points`,
    expected: `at most ${MOST.shapePoints}`,
    remedy: 'take every second point',
  });
}
