/**
 * Fields of one line by RFC 4180, with quotes but without line breaks inside a field: a quote that is never closed then
 * costs one line and not all that follow. Returns undefined when the quotes are malformed.
 */
export function splitCsvLine(text: string, delimiter = ','): string[] | undefined {
  const fields: string[] = [];
  let at = 0;
  for (;;) {
    const field = text[at] === '"' ? quotedField(text, at, delimiter) : plainField(text, at, delimiter);
    if (field === undefined) return undefined;
    fields.push(field.value);
    if (field.end >= text.length) return fields;
    at = field.end + 1;
  }
}

interface Field {
  readonly value: string;
  /** Index of the delimiter behind the field, or the length of the text. */
  readonly end: number;
}

function plainField(text: string, start: number, delimiter: string): Field | undefined {
  const comma = text.indexOf(delimiter, start);
  const end = comma < 0 ? text.length : comma;
  const value = text.slice(start, end);
  return value.includes('"') ? undefined : { value, end };
}

function quotedField(text: string, start: number, delimiter: string): Field | undefined {
  let value = '';
  let at = start + 1;
  for (;;) {
    const quote = text.indexOf('"', at);
    if (quote < 0) return undefined;
    value += text.slice(at, quote);
    if (text[quote + 1] !== '"') {
      const end = quote + 1;
      return end === text.length || text[end] === delimiter ? { value, end } : undefined;
    }
    value += '"';
    at = quote + 2;
  }
}
