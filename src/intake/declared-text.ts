import { BadInputError } from '../base/errors.js';
import { utf8Text } from '../base/utf8.js';
import { splitCsvLine } from '../process-logs/csv-line.js';

/** How a profile declares the text of another program. */
export interface DeclaredText {
  readonly delimiter: keyof typeof DELIMITERS;
  readonly lastLine?: 'may be open' | undefined;
}

export const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t', bar: '|' } as const;

/**
 * The lines of a text of another program, without their ends.
 * @throws BadInputError for what is not UTF-8, and for a last line that is not ended where the profile does not say that it may
 *   be so: `21.37` cut to `21.3` still looks right.
 */
export function linesOfText(file: string, bytes: Uint8Array, { lastLine }: DeclaredText): string[] {
  const decoded = utf8Text(file, bytes);
  if ('problem' in decoded) throw new BadInputError([decoded.problem]);
  const lines = decoded.text.replace(/^\uFEFF/, '').split(/\r?\n/);
  const last = lines.at(-1) ?? '';
  if (last !== '' && lastLine === undefined) {
    const remedy = 'export it again, or say in the profile that its last line may be open (lastLine: may be open)';
    const problem = { code: 'cut-file', file, line: lines.length, found: 'a last line without line end', remedy };
    throw new BadInputError([{ ...problem, expected: 'a whole file' }]);
  }
  return lines;
}

/** The cells of a line, without blanks around them; undefined for a quote that is not closed. */
export function cellsOf(text: string, { delimiter }: DeclaredText): string[] | undefined {
  return splitCsvLine(text, DELIMITERS[delimiter])?.map((cell) => cell.trim());
}

/** Whether a line holds nothing but delimiters. */
export const isBlank = (text: string, { delimiter }: DeclaredText): boolean =>
  text.replaceAll(DELIMITERS[delimiter], '').trim() === '';

/** With a point. What has the other sign too may be thousands: it stays as it is, and is refused as no number. */
export function decimalOf(text: string, decimal: 'point' | 'comma'): string {
  if (decimal === 'point') return text;
  return text.includes('.') ? text.replaceAll('.', ' ') : text.replace(',', '.');
}
