import { MOST } from '../base/limits.js';
import { fail } from './shape-fault.js';

/** Cuts bytes of a text into lines, wherever the chunks begin and end. Line ends are LF or CR LF. */
export class TextLines {
  private rest = '';
  private count = 0;

  /**
   * @param take gets each line without its end, and its number from 1.
   * @param before lines that stand before the first chunk.
   */
  constructor(
    private readonly take: (line: string, number: number) => void,
    before = 0,
  ) {
    this.count = before;
  }

  push(chunk: Buffer): void {
    const text = this.rest + chunk.toString('latin1');
    let start = 0;
    for (let end = text.indexOf('\n'); end >= 0; end = text.indexOf('\n', start)) {
      this.line(text.slice(start, text.charCodeAt(end - 1) === 13 && end > start ? end - 1 : end));
      start = end + 1;
    }
    this.rest = text.slice(start);
    if (this.rest.length > MOST.shapeLineCharacters) this.tooLong(this.rest);
  }

  end(): void {
    if (this.rest !== '') this.line(this.rest);
    this.rest = '';
  }

  private line(text: string): void {
    if (text.length > MOST.shapeLineCharacters) this.tooLong(text);
    this.count += 1;
    this.take(text, this.count);
  }

  private tooLong(text: string): never {
    const expected = `at most ${MOST.shapeLineCharacters} characters in a line`;
    return fail({
      code: 'shape-line',
      line: this.count + 1,
      found: `more than ${text.length - 1} characters`,
      expected,
    });
  }
}

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

/** A coordinate as it is written in text; what is no number, or none that can be held, ends the reading. */
export function coordinate(text: string | undefined, line: number): number {
  if (text === undefined) {
    return fail({ code: 'shape-number', line, found: 'the end of the line', expected: 'three coordinates' });
  }
  const value = Number(text);
  if (Number.isFinite(value) && NUMBER.test(text)) return value;
  const expected = 'a coordinate with a point as decimal sign';
  return fail({ code: 'shape-number', line, found: JSON.stringify(text.slice(0, 40)), expected });
}
