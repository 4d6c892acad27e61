import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { type Anchor, afterLossLine, anchorText, parseAnchor } from '../ledger/anchor.js';
import { headLine, parseCheckpoint, parseHead } from '../ledger/checkpoint.js';
import type { AfterLoss } from '../ledger/key-chain.js';

/** An address that does not answer is waited for so long: at each start, too. */
const ANSWER_MS = 5000;
/** Some eighty thousand heads. A place with more gives its first lines and its last heads. */
const LONGEST = 1 << 24;
/** A place that was reached within a day is taken to hold what it held then. */
const GRACE_MS = 24 * 3_600_000;

/** What this folder knows of the place without asking it. */
interface Left {
  /** When it was reached last, by the clock of the machine, in milliseconds; 0 for never. */
  readonly reachedMs: number;
  /** Entries of the largest head that was left there. */
  readonly size: number;
}

/**
 * The anchor of a data folder at an address that somebody else keeps, and at which this program can only add:
 * GET gives the lines, POST adds one (docs/decisions/anchor.md).
 */
export class AnchorUrl {
  constructor(
    readonly url: string,
    /** Where this folder notes what it left there; absent for a place in which it leaves nothing any more. */
    private readonly noteFile?: string,
    private readonly answerMs = ANSWER_MS,
  ) {}

  static ofFolder(folder: string, url: string): AnchorUrl {
    return new AnchorUrl(url, path.join(folder, 'keys', 'anchor-elsewhere.json'));
  }

  static isAddress(place: string): boolean {
    return /^https?:\/\/\S+$/.test(place) && URL.canParse(place);
  }

  /** Puts the lines of an anchor where none are yet; lines that are there stay, and are compared like every anchor. */
  async begin(own: Anchor): Promise<void> {
    if ((await this.lines()) !== '') return;
    for (const line of anchorText({ ...own, restored: null })
      .trimEnd()
      .split('\n'))
      await this.add(`${line}\n`);
  }

  /**
   * @throws AppError STORAGE when the place cannot be reached; ALTERED when it holds something else, or lost what was left
   * there.
   */
  async read(): Promise<Anchor> {
    const text = await this.lines();
    let anchor: Anchor;
    try {
      anchor = parseAnchor(text);
    } catch (error) {
      throw new AppError('ALTERED', `${this.url} holds no anchor: ${(error as Error).message}`);
    }
    const { size } = this.left();
    const found = sizeOf(anchor);
    if (found < size) {
      throw new AppError(
        'ALTERED',
        `${this.url} has heads of ${found} entries at most, and one of ${size} was left there: ask who keeps that place what became of it`,
      );
    }
    this.note(Math.max(size, found));
    return anchor;
  }

  /** Leaves a head there, unless a larger one is there. */
  async keep(checkpoint: string): Promise<void> {
    const head = parseHead(checkpoint);
    const { size } = parseCheckpoint(head.text);
    if (size <= sizeOf(await this.read())) return;
    await this.add(`${headLine(head)}\n`);
    this.note(size);
  }

  /** Names a key that stands for a lost one. */
  async addAfterLoss(loss: AfterLoss): Promise<void> {
    await this.read();
    await this.add(afterLossLine(loss));
  }

  /** Whether the place was reached so lately that whatever leaves the house need not wait for it. */
  get wasReachedToday(): boolean {
    const past = Date.now() - this.left().reachedMs;
    return past >= 0 && past < GRACE_MS;
  }

  private async lines(): Promise<string> {
    const answered = await this.ask('GET');
    // Where nothing was put yet there may be nothing to get.
    if (answered.status === 404) return '';
    return answered.text;
  }

  private async add(line: string): Promise<void> {
    const { status } = await this.ask('POST', line);
    if (status === 404) throw this.failed('takes no lines: it answers 404');
  }

  private async ask(method: string, body?: string): Promise<{ status: number; text: string }> {
    const headers = { 'content-type': 'text/plain' };
    const signal = AbortSignal.timeout(this.answerMs);
    try {
      const answered = await fetch(this.url, {
        method,
        signal,
        redirect: 'error',
        ...(body === undefined ? {} : { body, headers }),
      });
      const text = await textOf(answered);
      if (text === undefined) throw this.failed(`answers more than ${LONGEST} bytes: let it give its last heads alone`);
      if (!answered.ok && answered.status !== 404) throw this.failed(`answers ${answered.status}`);
      return { status: answered.status, text };
    } catch (error) {
      if (error instanceof AppError) throw error;
      const { message, cause } = error as Error;
      throw this.failed(`cannot be reached: ${(cause as Error | undefined)?.message ?? message}`);
    }
  }

  private left(): Left {
    try {
      const { reachedMs, size } = JSON.parse(fs.readFileSync(this.noteFile ?? '', 'utf8')) as {
        [name in keyof Left]: unknown;
      };
      if (Number.isSafeInteger(reachedMs) && Number.isSafeInteger(size)) return { reachedMs, size } as Left;
    } catch {}
    return { reachedMs: 0, size: 0 };
  }

  /** What cannot be noted is asked for again. */
  private note(size: number): void {
    if (this.noteFile === undefined) return;
    try {
      const temporary = `${this.noteFile}.${process.pid}.new`;
      fs.writeFileSync(temporary, `${JSON.stringify({ reachedMs: Date.now(), size } satisfies Left)}\n`, {
        mode: 0o600,
      });
      fs.renameSync(temporary, this.noteFile);
    } catch {}
  }

  /** Nothing is known of the place any more. */
  forget(): void {
    if (this.noteFile !== undefined) fs.rmSync(this.noteFile, { force: true });
  }

  private failed(why: string): AppError {
    return new AppError('STORAGE', `the second place of the anchor, ${this.url}, ${why}`);
  }
}

const sizeOf = ({ head }: Anchor): number => (head === null ? 0 : parseCheckpoint(head.text).size);

/** Undefined when there is too much of it. */
async function textOf(answered: Response): Promise<string | undefined> {
  const pieces: Uint8Array[] = [];
  let bytes = 0;
  for await (const piece of answered.body ?? []) {
    bytes += piece.length;
    if (bytes > LONGEST) return undefined;
    pieces.push(piece);
  }
  return Buffer.concat(pieces).toString('utf8');
}
