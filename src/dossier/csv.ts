/**
 * Canonical CSV: the form in which a dossier carries tables. RFC 4180 with LF line ends, UTF-8, a header line,
 * and quotes only where a field needs them, so that equal tables have equal bytes. Opens in any spreadsheet.
 */
export function writeCsv(columns: readonly string[], rows: Iterable<readonly string[]>): string {
  let text = `${columns.map(field).join(',')}\n`;
  for (const row of rows) text += `${row.map(field).join(',')}\n`;
  return text;
}

const NEEDS_QUOTES = /[",\n\r]/;

function field(value: string): string {
  return NEEDS_QUOTES.test(value) ? `"${value.replaceAll('"', '""')}"` : value;
}

/**
 * Reads canonical CSV back.
 * @throws Error when the text is not what `writeCsv` would have written for these columns.
 */
export function readCsv(columns: readonly string[], text: string): string[][] {
  const [header, ...rows] = records(text);
  if (header === undefined || header.join('\n') !== columns.join('\n')) {
    throw new Error(`expected the columns ${columns.join(', ')}, found ${header?.join(', ') ?? 'nothing'}`);
  }
  rows.forEach((row, index) => {
    if (row.length !== columns.length) {
      throw new Error(`row ${index + 2} has ${row.length} fields, expected ${columns.length}`);
    }
  });
  return rows;
}

function records(text: string): string[][] {
  return text.includes('"') ? recordsWithQuotes(text) : recordsWithoutQuotes(text);
}

/** Long tables of numbers hold no quote: lines and fields end where they seem to. */
function recordsWithoutQuotes(text: string): string[][] {
  if (text === '') return [];
  if (!text.endsWith('\n')) throw new Error('the last line is cut');
  const odd = text.indexOf('\r');
  if (odd >= 0) throw notCanonical(odd);
  return text
    .slice(0, -1)
    .split('\n')
    .map((line) => line.split(','));
}

function recordsWithQuotes(text: string): string[][] {
  const out: string[][] = [];
  let row: string[] = [];
  let at = 0;
  while (at < text.length) {
    const [value, next] = text[at] === '"' ? quoted(text, at + 1) : plain(text, at);
    row.push(value);
    if (text[next] === '\n') {
      out.push(row);
      row = [];
    } else if (text[next] !== ',') {
      throw new Error(`expected a comma or a line end at character ${next + 1}`);
    }
    at = next + 1;
    if (text[next] === ',' && at === text.length) throw new Error('the last line is cut');
  }
  if (row.length > 0) throw new Error('the last line is cut');
  return out;
}

/** The same table has other bytes than those that `writeCsv` gives it. */
const notCanonical = (at: number) => new Error(`quotes or line ends that are not canonical at character ${at + 1}`);

function plain(text: string, from: number): [string, number] {
  let end = from;
  while (end < text.length && text[end] !== ',' && text[end] !== '\n') {
    if (text[end] === '"' || text[end] === '\r') throw notCanonical(end);
    end++;
  }
  return [text.slice(from, end), end];
}

function quoted(text: string, from: number): [string, number] {
  let value = '';
  let at = from;
  for (;;) {
    const quote = text.indexOf('"', at);
    if (quote < 0) throw new Error('a quoted field does not end');
    value += text.slice(at, quote);
    if (text[quote + 1] !== '"') {
      if (!NEEDS_QUOTES.test(value)) throw notCanonical(from - 1);
      return [value, quote + 1];
    }
    value += '"';
    at = quote + 2;
  }
}

/** A table program runs a text that begins like a formula; an apostrophe before it keeps it a text (OWASP ASVS 5, 1.2.10). */
export function noFormula(value: string): string {
  return /^[=+\-@\t\r]/.test(value) && !/^[+-]?\d+(?:\.\d+)?$/.test(value) ? `'${value}` : value;
}
