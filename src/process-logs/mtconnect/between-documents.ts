/** What may stand between documents: a line of MIME, as the multipart answer of an agent has it, or nothing. */
const MIME_LINE = /^(?:--[!-~ ]{1,120}|[A-Za-z][A-Za-z0-9-]*:[^\r\n]*|HTTP\/\d(?:\.\d)? 200[^\r\n]*|[ \t]*)\r?$/;
const BYTE_ORDER_MARK = '\u00ef\u00bb\u00bf';
const LESS = 60;
const LONGEST = 64_000;

/** What was found between two documents. */
export interface Between {
  /** Index at which a document begins; the number of bytes where none does. */
  readonly end: number;
  readonly lines: number;
  /** A line that is neither blank nor of MIME. */
  readonly odd: string | null;
}

/**
 * Reads over what stands before a document: blanks, and the boundaries and headers of a multipart answer.
 * @param isLast nothing follows: so a line need not be ended.
 */
export function readBetween(bytes: Buffer, isLast: boolean): Between {
  const tag = bytes.indexOf(LESS);
  const before = bytes.toString('latin1', 0, tag < 0 ? bytes.length : tag);
  const lines = before.replace(BYTE_ORDER_MARK, '').split('\n');
  // The last line ends at the document, and there is blank, or is not whole yet.
  const whole = tag >= 0 || isLast ? lines : lines.slice(0, -1);
  const odd = whole.find((line) => !MIME_LINE.test(line)) ?? (before.length > LONGEST ? before.slice(0, 60) : null);
  return { end: tag < 0 ? bytes.length : tag, lines: lines.length - 1, odd };
}
