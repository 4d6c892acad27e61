import { AppError } from '../../base/errors.js';

/** The entries of a PDF dictionary in their order: names with their slash, values as they are written. */
export type PdfDictionary = Map<string, string>;

/** One token of PDF syntax (ISO 32000-1, 7.2 and 7.3), besides literal strings, which nest. */
const TOKEN = /<<|>>|[[\]]|<[0-9A-Fa-f\s]*>|\/[^\s()<>[\]{}/%]*|[^\s()<>[\]{}/%]+/y;
const SPACE = /\s*/y;
const REFERENCE = /\d+\s+\d+\s+R(?![^\s()<>[\]{}/%])/y;

/** @throws AppError UNEXPECTED when the text does not begin with a dictionary. */
export function readDictionary(text: string): PdfDictionary {
  const reader = new Reader(text);
  const entries: PdfDictionary = new Map();
  reader.expect('<<');
  while (!reader.at('>>')) {
    const name = reader.token();
    entries.set(name, reader.value());
  }
  return entries;
}

export function writeDictionary(entries: PdfDictionary): string {
  return `<<\n${[...entries].map(([name, value]) => `${name} ${value}\n`).join('')}>>`;
}

class Reader {
  private place = 0;

  constructor(private readonly text: string) {}

  expect(token: string): void {
    if (!this.at(token)) this.fail(token);
    this.place += token.length;
  }

  at(token: string): boolean {
    this.skip(SPACE);
    return this.text.startsWith(token, this.place);
  }

  token(): string {
    this.skip(SPACE);
    return this.text[this.place] === '(' ? this.literal() : this.take(TOKEN);
  }

  /** A value as it is written: one token, a reference, or a dictionary or array with all that is in it. */
  value(): string {
    this.skip(SPACE);
    const start = this.place;
    if (this.skip(REFERENCE)) return this.text.slice(start, this.place);
    const opened = this.token();
    const closing = { '<<': '>>', '[': ']' }[opened];
    if (closing !== undefined) {
      while (!this.at(closing)) this.value();
      this.expect(closing);
    }
    return this.text.slice(start, this.place);
  }

  private literal(): string {
    const start = this.place;
    let depth = 0;
    do {
      const sign = this.text[this.place];
      if (sign === undefined) this.fail('the end of a string');
      if (sign === '\\') this.place++;
      else if (sign === '(') depth++;
      else if (sign === ')') depth--;
      this.place++;
    } while (depth > 0);
    return this.text.slice(start, this.place);
  }

  private take(pattern: RegExp): string {
    const start = this.place;
    if (!this.skip(pattern) || this.place === start) this.fail('a value');
    return this.text.slice(start, this.place);
  }

  /** Goes over what the pattern matches here, if it does. */
  private skip(pattern: RegExp): boolean {
    pattern.lastIndex = this.place;
    if (!pattern.test(this.text)) return false;
    this.place = pattern.lastIndex;
    return true;
  }

  private fail(expected: string): never {
    const found = JSON.stringify(this.text.slice(this.place, this.place + 20));
    throw new AppError('UNEXPECTED', `expected ${expected} at place ${this.place} of a PDF object, found ${found}`);
  }
}
