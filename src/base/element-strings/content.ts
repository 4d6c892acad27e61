import { checkDigit, checkPair, SET_82 } from './check-characters.js';
import type { CharacterSet, Identifier, Part } from './identifiers.js';

/** What is wrong with the content of an identifier, or undefined. Years of two digits are read at `year`. */
export function contentFault({ parts }: Identifier, content: string, year: number): string | undefined {
  let rest = content;
  for (const [index, part] of parts.entries()) {
    if (rest === '' && part.isOptional) return undefined;
    const text = rest.slice(0, part.longest);
    const isLast = index === parts.length - 1;
    const fault = partFault(part, text, year) ?? (isLast && rest.length > text.length ? lengthOf(parts) : undefined);
    if (fault !== undefined) return fault;
    rest = rest.slice(text.length);
  }
  return undefined;
}

function partFault(part: Part, text: string, year: number): string | undefined {
  const { set, shortest, longest, checks } = part;
  if (text.length < shortest) return shortest === longest ? `${longest} ${SETS[set].name}` : lengthOf([part]);
  if (!SETS[set].signs.test(text)) return SETS[set].name;
  const failed = checks.find((name) => !CONTENT_CHECKS[name]!.holds(text, year));
  return failed && CONTENT_CHECKS[failed]!.expected;
}

function lengthOf(parts: readonly Part[]): string {
  const sum = (of: (part: Part) => number) => parts.reduce((total, part) => total + of(part), 0);
  const shortest = sum((part) => (part.isOptional ? 0 : part.shortest));
  const longest = sum((part) => part.longest);
  return shortest === longest ? `${longest} characters` : `${shortest} to ${longest} characters`;
}

const escaped = (signs: string) => signs.replace(/[\\\-\]^/]/g, '\\$&');

const SETS: Readonly<Record<CharacterSet, { readonly name: string; readonly signs: RegExp }>> = {
  n: { name: 'digits', signs: /^\d*$/ },
  x: { name: 'letters, digits and signs of GS1 character set 82', signs: new RegExp(`^[${escaped(SET_82)}]*$`) },
  y: { name: 'capitals, digits, #, - and /', signs: /^[A-Z0-9#\-/]*$/ },
  z: {
    name: 'letters, digits, - and _, filled up by = to a multiple of three signs if at all',
    signs: /^(?:[\w-]+|(?:[\w-]{3})*(?:[\w-]{2}=|[\w-]==))$/,
  },
};

interface ContentCheck {
  readonly expected: string;
  readonly holds: (text: string, year: number) => boolean;
}

const check = (expected: string, holds: ContentCheck['holds']): ContentCheck => ({ expected, holds });
const below = (limit: number) => (text: string) => Number(text) < limit;
const isPiece = (text: string) => {
  const half = text.length / 2;
  const piece = Number(text.slice(0, half));
  return piece > 0 && piece <= Number(text.slice(half));
};

/** `2/3`, without zeros before either. */
const isPlace = (text: string) => {
  const [, place, all] = /^([1-9]\d*)\/([1-9]\d*)$/.exec(text) ?? [];
  return Number(place) <= Number(all);
};

/** By the names that the table of identifiers uses, each after the check of that sense in the syntax dictionary. */
const CONTENT_CHECKS: Readonly<Record<string, ContentCheck>> = {
  mod10: check('a right check digit at the end', (text) => checkDigit(text.slice(0, -1)) === text.at(-1)),
  pair: check(
    'a right pair of check characters',
    (text) => text.length >= 2 && checkPair(text.slice(0, -2)) === text.slice(-2),
  ),
  day: check('a real day, YYMMDD', (text, year) => isDay(fullYear(text, year))),
  month: check('a real day, YYMMDD, or a month with day 00', (text, year) =>
    isDay(withoutDayZero(fullYear(text, year))),
  ),
  birthday: check('a real day, YYYYMMDD', isDay),
  time: check('hours and minutes, HHMM', (text) => below(24)(text.slice(0, 2)) && below(60)(text.slice(2))),
  hour: check('an hour, 00 to 23', below(24)),
  minute: check('00 to 59', below(60)),
  piece: check('the number of a piece and of all of them', isPiece),
  nonzero: check('a number above 0', (text) => Number(text) > 0),
  zero: check('0', (text) => Number(text) === 0),
  bit: check('0 or 1', (text) => /^[01]$/.test(text)),
  winding: check('0, 1 or 9', (text) => /^[019]$/.test(text)),
  sex: check('0, 1, 2 or 9', (text) => /^[0129]$/.test(text)),
  importer: check('a letter, a digit, - or _', (text) => /^[\w-]$/.test(text)),
  place: check('a place among all of them, such as 2/3', isPlace),
  minus: check('nothing or a minus at the end', (text) => text === '-'),
  leading: check('digits without zeros before them', (text) => !text.startsWith('0')),
  mixed: check('at least one sign that is no digit', (text) => /\D/.test(text)),
  prefix: check('a company prefix, at least four digits, at the beginning', (text) => /^\d{4}/.test(text)),
  percent: check('% only before two hexadecimal digits', (text) => !/%(?![0-9A-Fa-f]{2})/.test(text)),
  latitude: check('a latitude, 0000000000 to 1800000000', (text) => Number(text) <= 1_800_000_000),
  longitude: check('a longitude, 0000000000 to 3600000000', (text) => Number(text) <= 3_600_000_000),
};

const withoutDayZero = (day: string) => day.replace(/00$/, '01');

/**
 * The year of two digits that lies nearest to the present one: from 49 years before it to 50 years behind it.
 * Source: GS1 General Specifications, section 7.12.
 */
function fullYear(sixDigits: string, year: number): string {
  const difference = Number(sixDigits.slice(0, 2)) - (year % 100);
  const century = Math.floor(year / 100) + (difference >= 51 ? -1 : difference <= -50 ? 1 : 0);
  return String(century) + sixDigits;
}

function isDay(eightDigits: string): boolean {
  const day = isoDay(eightDigits);
  const time = new Date(`${day}T00:00:00Z`);
  return !Number.isNaN(time.getTime()) && time.toISOString().startsWith(day);
}

const isoDay = (eightDigits: string) => eightDigits.replace(/^(\d{4})(\d\d)(\d\d)$/, '$1-$2-$3');

/** `2033-02-28`, or `2033-02` of a month with day 00. */
export function dayOf(sixDigits: string, year: number): string {
  return isoDay(fullYear(sixDigits, year)).replace(/-00$/, '');
}
