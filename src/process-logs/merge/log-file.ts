import type { RawForm } from '../archive/archive-index.js';
import { ArchiveWriter, type MemberContent } from '../archive/archive-writer.js';
import { type FindCut, MemberCutter } from '../archive/member-cutter.js';
import { type TextRead, TextSource } from '../text-source.js';

/** One file of several: its text piece by piece, hashed and archived on the way. */
export class LogFile {
  private readonly cutter: MemberCutter;
  private readonly chunks: AsyncGenerator<Uint8Array>;
  private pieces: Uint8Array[] = [];
  private isAtEnd = false;

  private constructor(
    readonly fileName: string,
    private readonly source: TextSource,
    private readonly archive: ArchiveWriter | undefined,
    private readonly form: RawForm,
    findCut: FindCut,
    private readonly signal: AbortSignal | undefined,
  ) {
    this.cutter = new MemberCutter(findCut);
    this.chunks = source.chunks();
  }

  static async open(
    file: { readonly path: string; readonly fileName: string; readonly archive?: string },
    form: RawForm,
    findCut: FindCut,
    signal: AbortSignal | undefined,
  ): Promise<LogFile> {
    const source = await TextSource.open(file.path);
    const archive = file.archive === undefined ? undefined : await ArchiveWriter.create(file.archive, source.isGzip);
    return new LogFile(file.fileName, source, archive, form, findCut, signal);
  }

  get doneBytes(): number {
    return this.source.doneBytes;
  }

  get totalBytes(): number {
    return this.source.totalBytes;
  }

  /** The next piece of text, which ends with a line or an element; undefined at the end of the file. */
  async piece(): Promise<Uint8Array | undefined> {
    while (this.pieces.length === 0 && !this.isAtEnd) {
      this.signal?.throwIfAborted();
      const { done, value } = await this.chunks.next();
      this.isAtEnd = done === true;
      this.pieces = this.isAtEnd ? this.cutter.end() : this.cutter.push(value as Uint8Array);
    }
    return this.pieces.shift();
  }

  /** Keeps a piece for later showing, now that it is known which times it holds. */
  async keep(piece: Uint8Array, content: MemberContent): Promise<void> {
    await this.archive?.add(piece, content);
  }

  /** @returns hash of the text, and hash and size of the file as it came. */
  async finish(): Promise<TextRead> {
    await this.archive?.finish(this.form);
    const read = await this.source.finish();
    await this.source.close();
    return read;
  }

  /** Lets go of the file when the scan gives up. */
  async abandon(): Promise<void> {
    await this.chunks.return(undefined);
    await this.archive?.abandon();
    await this.source.close().catch(() => undefined);
  }
}
