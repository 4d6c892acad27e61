/** One record of a CSV text. */
export interface CsvRecord {
  readonly fields: readonly string[];
  /** Line on which it begins, from 1: a field in quotes may hold line ends. */
  readonly line: number;
}

/** Where a text is no CSV. */
export class CsvFault extends Error {
  constructor(
    readonly line: number,
    /** In characters, from 1. */
    readonly column: number,
    readonly found: string,
    readonly expected: string,
  ) {
    super(`${line}:${column}: found ${found}, expected ${expected}`);
  }
}

const MOST_SHOWN = 30;

/**
 * Reads CSV by RFC 4180: fields between commas, in quotes where they hold a comma, a quote or a line end. Records end with
 * LF or CR LF, and CR LF inside quotes is a line end as any other. Lines that hold nothing are passed by.
 * @param longest characters of a record at most: a quote that is closed far below costs no more than that.
 * @throws CsvFault at the first quote that stands where none may, or that is never closed, and at a record too long.
 */
export function* csvRecords(text: string, longest: number): Generator<CsvRecord> {
  let at = 0;
  let line = 1;
  let lineStart = 0;
  while (at < text.length) {
    const first = line;
    const start = at;
    const fields: string[] = [];
    for (;;) {
      const from = at;
      let value: string;
      if (text[at] === '"') {
        const end = endOfQuotes(text, at + 1);
        if (end < 0 || end - start > longest)
          throw new CsvFault(
            line,
            at - lineStart + 1,
            'a quote that is not closed',
            `a quote behind it, within ${longest} characters`,
          );
        value = text
          .slice(at + 1, end)
          .replaceAll('""', '"')
          .replaceAll('\r\n', '\n');
        at = end + 1;
        for (let feed = text.indexOf('\n', from); feed >= 0 && feed < at; feed = text.indexOf('\n', feed + 1)) {
          line += 1;
          lineStart = feed + 1;
        }
      } else {
        at = endOfPlain(text, at);
        value = text.slice(from, at);
        const quote = value.indexOf('"');
        if (quote >= 0) {
          const found = `a quote in ${JSON.stringify(value.slice(0, MOST_SHOWN))}`;
          throw new CsvFault(
            line,
            from + quote - lineStart + 1,
            found,
            'the whole field in quotes, each quote in it twice',
          );
        }
      }
      fields.push(value);
      if (text[at] === ',') {
        at += 1;
        continue;
      }
      const isCrLf = text[at] === '\r' && text[at + 1] === '\n';
      if (at < text.length && text[at] !== '\n' && !isCrLf) {
        const found = JSON.stringify(text[at]);
        throw new CsvFault(
          line,
          at - lineStart + 1,
          `${found} behind a closing quote`,
          'a comma or the end of the line',
        );
      }
      at += isCrLf ? 2 : 1;
      line += 1;
      lineStart = at;
      break;
    }
    if (fields.length > 1 || fields[0] !== '') yield { fields, line: first };
  }
}

function endOfQuotes(text: string, from: number): number {
  let at = text.indexOf('"', from);
  while (at >= 0 && text[at + 1] === '"') at = text.indexOf('"', at + 2);
  return at;
}

/** Index of the comma or line end behind a plain field. A carriage return alone is part of the field. */
function endOfPlain(text: string, from: number): number {
  let at = from;
  for (; at < text.length; at += 1) {
    const code = text.charCodeAt(at);
    if (code === 44 || code === 10 || (code === 13 && text.charCodeAt(at + 1) === 10)) break;
  }
  return at;
}
