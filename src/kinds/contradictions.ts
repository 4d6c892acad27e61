import { type Contradiction, tooEarly } from './kind.js';

/** What many kinds ask of themselves in the same way. Each answers nothing where all is well, or where a value is absent. */

type Maybe = string | undefined;

/** An end that does not lie behind its beginning. */
export function endsTooEarly(field: string, end: Maybe, start: Maybe): Contradiction[] {
  if (end === undefined || start === undefined || tooEarly(field, start, end, '').length > 0) return [];
  const expected = `${end.length === 10 ? 'a day' : 'a moment'} after ${start}`;
  return [{ field, found: end, expected, remedy: 'correct one of the two times' }];
}

/** A number that is larger than what it is a part of. */
export function tooMuch(field: string, value: Maybe, most: Maybe, what: string): Contradiction[] {
  if (value === undefined || most === undefined || Number(value) <= Number(most)) return [];
  return [{ field, found: value, expected: `at most ${most}, ${what}`, remedy: 'correct one of the two numbers' }];
}

/** Something that has to be there because of what else is said. */
export function needed(field: string, value: unknown, because: string, expected: string): Contradiction[] {
  if (value !== undefined) return [];
  return [{ field, found: `nothing, although ${because}`, expected, remedy: 'add it, or correct what asks for it' }];
}

/** Something that cannot be there because of what else is said. */
export function senseless(field: string, value: unknown, because: string): Contradiction[] {
  if (value === undefined) return [];
  return [
    { field, found: `a value, although ${because}`, expected: 'none', remedy: 'remove it, or correct the other' },
  ];
}

/** Several ways to say one thing, of which one has to be taken. */
export function exactlyOne(fields: Readonly<Record<string, unknown>>, field: string): Contradiction[] {
  const given = Object.keys(fields).filter((name) => fields[name] !== undefined);
  if (given.length === 1) return [];
  const found = given.length === 0 ? 'none of them' : given.join(' and ');
  const expected = `one of ${Object.keys(fields).join(', ')}`;
  return [{ field, found, expected, remedy: given.length === 0 ? 'add one' : 'leave one' }];
}
