import type { z } from 'zod';

/** Types as people call them. */
const TYPES: Readonly<Record<string, string>> = {
  string: 'a text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  tuple: 'a list',
  object: 'fields with their values',
  record: 'names with their values',
  null: 'nothing',
  date: 'a day',
};

const FORMATS: Readonly<Record<string, string>> = {
  date: 'a day, such as 2026-03-02',
  datetime: 'a date and time with offset, such as 2026-03-02T08:15:00+01:00',
  url: 'an address that begins with https://',
};

/** Of what a text, a list or a number has too few or too many. */
const SIZED: Readonly<Record<string, readonly [one: string, more: string]>> = {
  string: ['character', 'characters'],
  array: ['entry', 'entries'],
};

/**
 * What a schema asks for where it was given something else, in words for people: its own message where it has one. Of several
 * shapes the one with the fewest faults, which is most likely the one that was meant.
 */
export function askedForText(issue: z.core.$ZodIssue): string {
  if (issue.code === 'invalid_union') {
    const [nearest] = issue.errors.filter((errors) => errors.length > 0).sort((a, b) => a.length - b.length);
    if (nearest) return askedForText(nearest[0]!);
  }
  if (!isOfProgram(issue.message)) return issue.message;
  switch (issue.code) {
    case 'invalid_type':
      return TYPES[issue.expected] ?? 'another value';
    case 'invalid_value':
      return issue.values.length === 1
        ? `"${String(issue.values[0])}"`
        : `one of ${issue.values.map((value) => `"${String(value)}"`).join(', ')}`;
    case 'too_small':
      return sizeText('at least', issue.origin, issue.minimum, issue.inclusive === false ? 'more than' : 'at least');
    case 'too_big':
      return sizeText('at most', issue.origin, issue.maximum, issue.inclusive === false ? 'less than' : 'at most');
    case 'invalid_format':
      return FORMATS[issue.format] ?? 'a text of another form';
    case 'unrecognized_keys':
      return `no field "${issue.keys.join('", "')}"`;
    default:
      return 'another value';
  }
}

function sizeText(counted: string, origin: string, size: number | bigint, measured: string): string {
  const words = SIZED[origin];
  if (words === undefined) return `a number of ${measured} ${size}`;
  return `${counted} ${size} ${Number(size) === 1 ? words[0] : words[1]}`;
}

/** Whether nothing was there at all. */
export const isOfNothing = (issue: z.core.$ZodIssue): boolean =>
  /received undefined$/.test(issue.message) ||
  (issue.code === 'invalid_union' &&
    issue.errors.length > 0 &&
    issue.errors.every((errors) => errors.some((inner) => inner.path.length === 0 && isOfNothing(inner))));

/** Messages that the library writes where a schema has none of its own. */
const isOfProgram = (message: string): boolean =>
  /^(?:Invalid (?:input|option|string|ISO|[A-Za-z]+)|Too (?:small|big)|Unrecognized key)/.test(message);
