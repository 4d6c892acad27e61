import { type FileHandle, open, rename, writeFile } from 'node:fs/promises';
import { promisify } from 'node:util';
import { gzip } from 'node:zlib';
import type { ArchiveIndex, ArchiveMember, RawForm } from './archive-index.js';

const pack = promisify(gzip);

/** Fast and four to one on numbers; a higher level packs a fifth more in four times the time. */
const LEVEL = 1;
/** Members that are packed while the scan goes on. More would only hold memory. */
const IN_FLIGHT = 8;

/** What of the log a member holds, apart from where it lies. */
export type MemberContent = Pick<ArchiveMember, 'line' | 'fromUs' | 'toUs'>;

/** Path of the index beside an archive. */
export const indexPath = (archive: string): string => `${archive}.json`;

/**
 * Writes the raw text of a log as gzip members one behind the other, beside the scan and in other threads. `gunzip` gives
 * the text back byte for byte; the index leads to any time in it.
 */
export class ArchiveWriter {
  private readonly members: ArchiveMember[] = [];
  private bytes = 0;
  private readonly pending: Promise<void>[] = [];
  private written: Promise<void> = Promise.resolve();

  private constructor(
    private readonly path: string,
    private readonly file: FileHandle,
  ) {}

  static async create(path: string): Promise<ArchiveWriter> {
    return new ArchiveWriter(path, await open(path, 'w'));
  }

  /**
   * Takes the next piece of text, which must not change any more. Waits only when too many pieces are under way.
   * @throws the error of the disk, as soon as it is known.
   */
  async add(text: Uint8Array, content: MemberContent): Promise<void> {
    const packed = pack(text, { level: LEVEL });
    const before = this.written;
    this.written = (async () => {
      const member = await packed;
      await before;
      await this.file.write(member, 0, member.length, this.bytes);
      this.members.push({ offset: this.bytes, bytes: member.length, ...content });
      this.bytes += member.length;
    })();
    // Awaited below or at the end; without this a failure in between would end the process.
    this.written.catch(() => undefined);
    this.pending.push(this.written);
    if (this.pending.length >= IN_FLIGHT) await this.pending.shift();
  }

  /** Writes what is left, and then the index. */
  async finish(form: RawForm): Promise<void> {
    await this.written;
    await this.file.close();
    const index: ArchiveIndex = { format: 1, form, bytes: this.bytes, members: this.members };
    const temporary = `${indexPath(this.path)}.new`;
    await writeFile(temporary, JSON.stringify(index));
    await rename(temporary, indexPath(this.path));
  }

  /** Leaves the archive without an index, so that nobody takes it for whole. */
  async abandon(): Promise<void> {
    await this.written.catch(() => undefined);
    await this.file.close();
  }
}
