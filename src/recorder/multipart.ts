import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';

const LINE_END = '\r\n';
const HEAD_END = Buffer.from('\r\n\r\n');
const LONGEST_HEAD = 16_384;
const NOTHING = Buffer.alloc(0);

/**
 * Takes the bodies out of an answer of the type multipart/x-mixed-replace, piece by piece as it comes (RFC 2046 5.1). A
 * part ends where its Content-length says so; without one, where the next boundary begins.
 */
export class PartReader {
  private readonly delimiter: Buffer;
  private bytes: Buffer = NOTHING;
  /** Of the part that is open: its length, or null where it says none. Undefined between two parts. */
  private length: number | null | undefined;
  private hasEnded = false;

  constructor(boundary: string) {
    this.delimiter = Buffer.from(`--${boundary}`, 'latin1');
  }

  /** @returns the bodies that are whole by now. @throws BadInputError for what is no multipart answer, or too much of it. */
  take(piece: Uint8Array): Buffer[] {
    this.bytes = this.bytes.length === 0 ? Buffer.from(piece) : Buffer.concat([this.bytes, piece]);
    const bodies: Buffer[] = [];
    while (!this.hasEnded) {
      if (this.length === undefined && !this.readHead()) break;
      if (this.hasEnded) break;
      const body = this.readBody();
      if (body === undefined) break;
      if (body.length > 0) bodies.push(body);
    }
    if (this.bytes.length > MOST.recordedDocumentBytes + LONGEST_HEAD) throw tooLong();
    return bodies;
  }

  /** What stands before the delimiter is a preamble, which nobody reads. @returns false when more is needed first. */
  private readHead(): boolean {
    const at = this.bytes.indexOf(this.delimiter);
    if (at < 0) {
      if (this.bytes.length > LONGEST_HEAD) throw noParts('no boundary');
      return false;
    }
    const from = at + this.delimiter.length;
    if (this.bytes.toString('latin1', from, from + 2) === '--') {
      this.hasEnded = true;
      return true;
    }
    const end = this.bytes.indexOf(HEAD_END, from);
    if (end < 0) {
      if (this.bytes.length - from > LONGEST_HEAD) throw noParts('a head without an end');
      return false;
    }
    const head = this.bytes.toString('latin1', from, end);
    const said = /\r\ncontent-length:[ \t]*(\d{1,10})[ \t]*(?:\r\n|$)/i.exec(head)?.[1];
    this.length = said === undefined ? null : Number(said);
    if ((this.length ?? 0) > MOST.recordedDocumentBytes) throw tooLong();
    this.bytes = this.bytes.subarray(end + HEAD_END.length);
    return true;
  }

  private readBody(): Buffer | undefined {
    const end = this.length ?? this.bytes.indexOf(Buffer.concat([Buffer.from(LINE_END), this.delimiter]));
    if (end < 0 || this.bytes.length < end) return undefined;
    const body = this.bytes.subarray(0, end);
    this.bytes = this.bytes.subarray(end);
    this.length = undefined;
    return body;
  }
}

const refused = (found: string, expected: string): BadInputError =>
  new BadInputError([{ code: 'agent-answer', found, expected, remedy: 'have the agent corrected' }]);

const noParts = (found: string) =>
  refused(found, 'parts with a boundary, each with a head (multipart/x-mixed-replace)');

const tooLong = () =>
  refused(
    'a longer document',
    `documents of at most ${MOST.recordedDocumentBytes} bytes, since so many observations were asked for`,
  );
