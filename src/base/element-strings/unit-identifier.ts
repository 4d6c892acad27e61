import { AppError } from '../errors.js';
import { dayOf } from './content.js';
import { checkedElements, type Element } from './element-string.js';

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

/**
 * Elements in the order in which a carrier has them: those of fixed length first, lot and serial last, so that one
 * separator suffices. A month without a day is never written: since 2025-01-01 regulated healthcare items carry a real
 * day (GS1 General Specifications, section 3.4.2 and later, from memory).
 * @throws AppError BAD_INPUT naming the identifier whose content cannot be encoded.
 */
export function elementsOf({ gtin, productionDay, expiryDay, lot, serial }: UnitIdentifier): readonly Element[] {
  const elements = [
    { ai: '01', content: gtin },
    ...(productionDay === undefined ? [] : [{ ai: '11', content: sixDigits(productionDay) }]),
    ...(expiryDay === undefined ? [] : [{ ai: '17', content: sixDigits(expiryDay) }]),
    { ai: '10', content: lot },
    { ai: '21', content: serial },
  ];
  return checkedElements(elements, Number((productionDay ?? expiryDay ?? '2000').slice(0, 4)));
}

function sixDigits(day: string): string {
  const match = /^\d\d(\d\d)-(\d\d)-(\d\d)$/.exec(day);
  if (match) return match.slice(1).join('');
  throw refused(day, 'a calendar day, such as 2031-05-04');
}

/**
 * What a code says of a unit. A day of production or expiry is a real day here, never a month.
 * @param year the present year, as `readElementString`.
 * @throws AppError BAD_INPUT for a date with day 00.
 */
export function unitIdentifierOf(elements: readonly Element[], year: number): Partial<UnitIdentifier> {
  const of = (wanted: string) => elements.find(({ ai }) => ai === wanted)?.content;
  const dayIn = (ai: string) => {
    const content = of(ai);
    if (content === undefined) return undefined;
    if (content.endsWith('00')) throw refused(content, 'a real day: no medical device carries day 00');
    return dayOf(content, year);
  };
  const found = { gtin: of('01'), productionDay: dayIn('11'), expiryDay: dayIn('17'), lot: of('10'), serial: of('21') };
  return Object.fromEntries(Object.entries(found).filter(([, value]) => value !== undefined));
}

const refused = (day: string, expected: string) =>
  new AppError('BAD_INPUT', `the date "${day}" cannot stand in a GS1 code: expected ${expected}`);
