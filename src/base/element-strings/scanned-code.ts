import { checkDigit } from './check-characters.js';
import { type Element, readBracketed, readElementString, SEPARATOR } from './element-string.js';

/** What a scanner or a person handed over: element strings, or a text that is the code itself, such as a serial. */
export type ScannedCode =
  | { readonly form: 'element string'; readonly elements: readonly Element[] }
  | { readonly form: 'text'; readonly text: string };

/** Symbology identifiers whose data are element strings (ISO/IEC 15424; General Specifications, figure 5.1.2-2). */
const ELEMENT_STRING = /^\](?:C1|e0|d2|Q3|J1)/;
const OTHER_CODE = /^\][A-Za-z][0-9A-Za-z]/;
/** A GTIN at the beginning, where the scanner hands over neither symbology identifier nor separator. */
const BEGINS_WITH_GTIN = /^01\d{14}/;

/**
 * Tells what was scanned. The symbology identifier decides where the scanner hands one over; else a separator, a bracket
 * at the beginning, or 01 and a GTIN with a right check digit do. Everything else is the text itself.
 * @param year the present year, as `readElementString`.
 * @throws AppError BAD_INPUT where element strings break the grammar.
 */
export function readScannedCode(scanned: string, year: number): ScannedCode {
  const given = scanned.trim();
  const elements = (text: string) => ({ form: 'element string', elements: readElementString(text, year) }) as const;
  if (ELEMENT_STRING.test(given)) return elements(given.slice(3));
  if (OTHER_CODE.test(given)) return { form: 'text', text: given.slice(3) };
  if (given.includes(SEPARATOR)) return elements(given.slice(given.startsWith(SEPARATOR) ? 1 : 0));
  if (/^\(\d{2,4}\)/.test(given)) return { form: 'element string', elements: readBracketed(given, year) };
  if (BEGINS_WITH_GTIN.test(given) && checkDigit(given.slice(2, 15)) === given[15]) return elements(given);
  return { form: 'text', text: given };
}
