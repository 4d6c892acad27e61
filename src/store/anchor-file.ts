import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { writeKeyOnce } from '../base/key-file.js';
import { type Anchor, afterLossLine, anchorText, parseAnchor } from '../ledger/anchor.js';
import { headLine, parseHead } from '../ledger/checkpoint.js';
import type { AfterLoss } from '../ledger/key-chain.js';
import { syncFolder } from './evidence/plain-file.js';

/** Some 4000 heads: then the file is written anew with the last one. */
const LONGEST = 1 << 20;

/**
 * The anchor of a data folder in a file outside its database. Every change appends the head that it left, after it was
 * stored: so the file is never ahead of an honest database. The system brings it to the disk in its own time.
 */
export class AnchorFile {
  /** What the file held when it was read or written last by this process. */
  private left: { bytes: number; anchor: Anchor } | undefined;

  constructor(readonly file: string) {}

  static beside(folder: string): AnchorFile {
    return new AnchorFile(path.join(folder, 'keys', 'anchor.txt'));
  }

  get exists(): boolean {
    return fs.existsSync(this.file);
  }

  /** Makes the file of a folder in which nothing is recorded yet; one that is there stays. */
  makeOnce(firstKey: string): void {
    if (!this.exists) writeKeyOnce(this.file, anchorText({ firstKey, afterLoss: [], head: null, restored: null }));
  }

  /** @throws AppError ALTERED when the file is missing, or holds something else. */
  read(): Anchor {
    const text = this.text();
    const anchor = parseAnchor(text);
    // Behind a torn line nothing is appended: the next head makes the file anew.
    this.left = { bytes: text.endsWith('\n') ? Buffer.byteLength(text) : Number.POSITIVE_INFINITY, anchor };
    return anchor;
  }

  private text(): string {
    try {
      return fs.readFileSync(this.file, 'utf8');
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
      throw this.missing();
    }
  }

  /**
   * Whether nobody appended since this process read or wrote the file.
   * @throws AppError ALTERED when it is gone.
   */
  get isAsLeft(): boolean {
    const found = fs.statSync(this.file, { throwIfNoEntry: false });
    if (found === undefined) throw this.missing();
    return found.size === this.left?.bytes;
  }

  /** Appends a head that is stored. The file is never made here: a removed one must be named. */
  append(checkpoint: string): void {
    const head = parseHead(checkpoint);
    const { left } = this;
    if (left === undefined) return;
    const anchor = { ...left.anchor, head };
    if (left.bytes > LONGEST) {
      this.replace(anchor);
      return;
    }
    this.write(`${headLine(head)}\n`, anchor);
  }

  /** Names a key that stands for a lost one. It only appends: the file may lie where nothing else can be done. */
  addAfterLoss(loss: AfterLoss): void {
    const anchor = this.read();
    this.write(afterLossLine(loss), { ...anchor, afterLoss: [...anchor.afterLoss, loss] });
  }

  private write(line: string, anchor: Anchor): void {
    const handle = fs.openSync(this.file, fs.constants.O_WRONLY | fs.constants.O_APPEND);
    try {
      fs.writeSync(handle, line);
    } finally {
      fs.closeSync(handle);
    }
    this.left = { bytes: this.left!.bytes + Buffer.byteLength(line), anchor };
  }

  /** Puts a whole anchor in the place of whatever is there, on the disk when it returns. */
  replace(anchor: Anchor): void {
    const text = anchorText(anchor);
    fs.mkdirSync(path.dirname(this.file), { recursive: true, mode: 0o700 });
    const temporary = `${this.file}.${randomUUID()}.new`;
    fs.writeFileSync(temporary, text, { mode: 0o600, flush: true });
    fs.renameSync(temporary, this.file);
    syncFolder(path.dirname(this.file));
    this.left = { bytes: Buffer.byteLength(text), anchor };
  }

  private missing(): AppError {
    return new AppError(
      'ALTERED',
      `${this.file} is missing, by which the database is known to be the one that was left: put it back, or let two ` +
        'people accept the audit trail as it is: keys anchor --renew',
    );
  }
}
