import { AppError } from '../../base/errors.js';
import { checkDigit } from '../../kinds/gtin.js';

/** What the unit pack carries, by application identifier. Dates are ISO calendar days. */
export interface UnitIdentifier {
  /** GTIN of 14 digits: the UDI-DI, (01). */
  readonly gtin: string;
  /** (11) */
  readonly productionDay?: string | undefined;
  /** (17) */
  readonly expiryDay?: string | undefined;
  /** (10) */
  readonly lot: string;
  /** (21) */
  readonly serial: string;
}

/** An element string: an application identifier and its content. */
export interface Element {
  readonly ai: '01' | '11' | '17' | '10' | '21';
  readonly content: string;
}

/** What separates an element of variable length from the next one in the carrier: FNC1, read as this character. */
const SEPARATOR = '\u001d';
const LONGEST_CONTENT = 20;
/** Characters that GS1 allows in element strings (General Specifications, figure 7.11-1, from memory). */
const SET_82 = /^[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]+$/;

/**
 * Element strings in the order in which a carrier has them: those of fixed length first, lot and serial last, so that
 * one separator suffices. A month without a day is never written: since 2025-01-01 regulated healthcare items carry a
 * real day (GS1 General Specifications, section 3.4.2 and later, from memory).
 * @throws AppError BAD_INPUT naming the part that cannot be encoded.
 */
export function elementsOf(unit: UnitIdentifier): Element[] {
  const { gtin, productionDay, expiryDay, lot, serial } = unit;
  if (!/^\d{14}$/.test(gtin) || checkDigit(gtin.slice(0, -1)) !== gtin.at(-1)) {
    throw refused('GTIN', gtin, 'fourteen digits with a right check digit');
  }
  return [
    { ai: '01', content: gtin },
    ...(productionDay === undefined ? [] : [{ ai: '11' as const, content: sixDigits(productionDay) }]),
    ...(expiryDay === undefined ? [] : [{ ai: '17' as const, content: sixDigits(expiryDay) }]),
    { ai: '10', content: checked('lot', lot) },
    { ai: '21', content: checked('serial', serial) },
  ];
}

function refused(what: string, found: string, expected: string): AppError {
  return new AppError('BAD_INPUT', `the ${what} "${found}" cannot stand in a GS1 code: expected ${expected}`, { what });
}

function checked(what: string, content: string): string {
  if (SET_82.test(content) && content.length <= LONGEST_CONTENT) return content;
  throw refused(what, content, `1 to ${LONGEST_CONTENT} letters, digits and signs of GS1 character set 82`);
}

function sixDigits(day: string): string {
  const match = /^\d\d(\d\d)-(\d\d)-(\d\d)$/.exec(day);
  const isReal = match !== null && new Date(`${day}T00:00:00Z`).toJSON()?.startsWith(day);
  if (!match || !isReal) throw refused('date', day, 'a real calendar day, such as 2031-05-04; never day 00');
  return match.slice(1).join('');
}

/** For people: `(01)09506000134352(21)12`. The parentheses never stand in the carrier. */
export const humanReadable = (elements: readonly Element[]): string =>
  elements.map(({ ai, content }) => `(${ai})${content}`).join('');

const FIXED_LENGTH: Readonly<Record<string, number>> = { '01': 14, '11': 6, '17': 6 };

/**
 * Reads what a scanner gives: element strings one after the other, those of variable length ended by a separator.
 * A two-digit year is put into the century that lies nearest, by the sliding window of the General Specifications
 * (section 7.12, from memory).
 * @param year the present year, for the window.
 * @throws AppError BAD_INPUT for an identifier that is not one of ours, or content that is cut.
 */
export function readCarrier(scanned: string, year: number): Partial<UnitIdentifier> {
  const found: { -readonly [K in keyof UnitIdentifier]?: UnitIdentifier[K] } = {};
  let rest = scanned.replace(/^\](?:d2|C1|Q3|e0)/, '');
  while (rest !== '') {
    const ai = rest.slice(0, 2);
    const length = FIXED_LENGTH[ai];
    const end = length === undefined ? rest.indexOf(SEPARATOR) : 2 + length;
    const content = end < 0 ? rest.slice(2) : rest.slice(2, end);
    if (ai === '01') found.gtin = content;
    else if (ai === '11') found.productionDay = dayOf(content, year);
    else if (ai === '17') found.expiryDay = dayOf(content, year);
    else if (ai === '10') found.lot = content;
    else if (ai === '21') found.serial = content;
    else throw refused('application identifier', ai, 'one of 01, 11, 17, 10, 21');
    if (content === '' || (length !== undefined && content.length < length)) {
      throw refused(`content of (${ai})`, content, length === undefined ? 'some characters' : `${length} characters`);
    }
    const behind = end < 0 ? '' : rest.slice(end);
    rest = behind.startsWith(SEPARATOR) ? behind.slice(1) : behind;
  }
  return found;
}

function dayOf(sixDigitText: string, year: number): string {
  const [two, month, day] = sixDigitText.match(/\d\d/g) ?? [];
  if (two === undefined || month === undefined || day === undefined || day === '00') {
    throw refused('date', sixDigitText, 'YYMMDD with a real day');
  }
  const difference = Number(two) - (year % 100);
  const century = Math.floor(year / 100) + (difference >= 51 ? -1 : difference <= -50 ? 1 : 0);
  return `${century}${two}-${month}-${day}`;
}
