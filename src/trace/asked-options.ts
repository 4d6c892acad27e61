import { BadInputError } from '../base/errors.js';
import { isUnit } from '../base/units.js';
import { Decimal, Moment, NotNegative } from '../kinds/fields.js';
import type { QuantityText } from './altered-facts.js';

/** Options of commands and fields of pages that ask for a time or a quantity. */

const badOption = (field: string, found: string, expected: string, remedy: string) =>
  new BadInputError([{ code: 'option', field, found, expected, remedy }]);

/** @throws BadInputError for a text that is no moment. */
export function momentOption(field: string, text: string | undefined): string | undefined {
  if (text === undefined || Moment.safeParse(text).success) return text;
  throw badOption(field, text, 'a moment with its offset, such as 2031-03-05T12:00:00Z', 'name the moment so');
}

/** An uncertainty has no sign. @throws as `quantityOption`. */
export function uncertaintyOption(field: string, text: string | undefined): QuantityText | undefined {
  const quantity = quantityOption(field, text);
  if (quantity === undefined || NotNegative.safeParse(quantity.value).success) return quantity;
  throw badOption(field, text!, 'a standard uncertainty that is not below zero', 'leave the sign out');
}

/** `0.4 mg`. @throws BadInputError for a text that is no decimal with a unit. */
export function quantityOption(field: string, text: string | undefined): QuantityText | undefined {
  if (text === undefined) return undefined;
  const [value = '', ucum = '', ...more] = text.trim().split(/\s+/);
  if (more.length === 0 && Decimal.safeParse(value).success && isUnit(ucum)) return { value, ucum };
  throw badOption(field, text, 'a decimal and a unit (UCUM), such as "0.4 mg"', 'name the quantity so');
}
