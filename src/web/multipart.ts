import { BadInputError } from '../base/errors.js';

/** One part of a body of type multipart/form-data (RFC 7578). */
export interface Part {
  readonly name: string;
  /** Path of a file as it was sent; undefined for a field. A browser sends an empty one where nothing was chosen. */
  readonly fileName: string | undefined;
  /** To be read once, and before the next part is asked for; what is not read is passed over. */
  readonly bytes: AsyncIterable<Buffer>;
}

const LONGEST_HEAD = 16_384;
const HEAD_END = Buffer.from('\r\n\r\n');

/**
 * Reads a body part by part, in the order in which it comes, with never more than a few blocks in memory. A part that it
 * cannot read is an error: to pass it over would lose a file without a word.
 */
export class MultipartReader {
  private readonly delimiter: Buffer;
  /** Of what came, what is not given out yet. A body begins with a delimiter that lacks its line end. */
  private rest: Buffer = Buffer.from('\r\n');
  private isInPart = true;

  /** @param source blocks of the body; more is asked of it only when the last block is used up. */
  constructor(
    private readonly source: AsyncIterator<Buffer, unknown>,
    boundary: string,
  ) {
    this.delimiter = Buffer.from(`\r\n--${boundary}`, 'latin1');
  }

  /** @returns undefined after the last part. @throws BadInputError for a body that is none, or ends before its end. */
  async next(): Promise<Part | undefined> {
    // Nothing stands before the first part, and what is left of the last one is not wanted.
    for await (const _ of this.bytes());
    await this.fill(2);
    const [first, second] = this.take(2);
    if (first === 0x2d && second === 0x2d) return undefined;
    if (first !== 0x0d || second !== 0x0a) throw unreadable('no line end after a boundary');
    const head = await this.head();
    this.isInPart = true;
    return { ...partOf(head), bytes: this.bytes() };
  }

  private async *bytes(): AsyncGenerator<Buffer> {
    while (this.isInPart) {
      const at = this.rest.indexOf(this.delimiter);
      if (at >= 0) {
        this.isInPart = false;
        const last = this.take(at);
        this.take(this.delimiter.length);
        if (last.length > 0) yield last;
        return;
      }
      // A delimiter may have begun at the end of what came.
      const isSafe = this.rest.length - this.delimiter.length + 1;
      if (isSafe > 0) yield this.take(isSafe);
      await this.more();
    }
  }

  private async head(): Promise<string> {
    for (;;) {
      const end = this.rest.indexOf(HEAD_END);
      if (end >= 0) {
        const text = this.take(end).toString('utf8');
        this.take(HEAD_END.length);
        return text;
      }
      if (this.rest.length > LONGEST_HEAD) throw unreadable(`a head of more than ${LONGEST_HEAD} bytes`);
      await this.more();
    }
  }

  private take(length: number): Buffer {
    const taken = this.rest.subarray(0, length);
    this.rest = this.rest.subarray(length);
    return taken;
  }

  private async fill(length: number): Promise<void> {
    while (this.rest.length < length) await this.more();
  }

  private async more(): Promise<void> {
    const { done, value } = await this.source.next();
    if (done) throw unreadable('an end before the last boundary');
    this.rest = this.rest.length === 0 ? value : Buffer.concat([this.rest, value]);
  }
}

const PARAMETER = /^;[ \t]*([a-z]+)="([^"]*)"[ \t]*/i;
/** Browsers write these three so, and nothing else (HTML Standard, multipart/form-data). */
const ESCAPES: Readonly<Record<string, string>> = { '%22': '"', '%0D': '\r', '%0A': '\n' };

function partOf(head: string): Pick<Part, 'name' | 'fileName'> {
  const line = head.split('\r\n').find((one) => /^content-disposition:/i.test(one));
  const [, type, parameters] = /^[^:]*:[ \t]*([a-z-]+)[ \t]*(.*)$/i.exec(line ?? '') ?? [];
  if (type?.toLowerCase() !== 'form-data') throw unreadable('a part that does not say what it is');
  const given: Record<string, string> = {};
  for (let rest = parameters!; rest !== ''; ) {
    const [all, name, value] = PARAMETER.exec(rest) ?? [];
    if (all === undefined) throw unreadable(`a part with ${JSON.stringify(rest.slice(0, 200))}`);
    given[name!.toLowerCase()] = value!.replaceAll(/%(?:22|0D|0A)/g, (escaped) => ESCAPES[escaped]!);
    rest = rest.slice(all.length);
  }
  if (given.name === undefined) throw unreadable('a part without a name');
  return { name: given.name, fileName: given.filename };
}

const unreadable = (found: string) =>
  new BadInputError([
    {
      code: 'multipart',
      found,
      expected: 'the parts of a form as browsers send them (multipart/form-data), each whole',
      remedy: 'send it again; if it happens again, take the folder in by the command "lotwright intake"',
    },
  ]);
