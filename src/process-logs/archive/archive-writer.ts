import { hash, webcrypto } from 'node:crypto';
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

/** Path of the packed members of an archive. */
export const packedPath = (archive: string): string => `${archive}.gz`;

/** Path of the index of an archive. */
export const indexPath = (archive: string): string => `${archive}.json`;

/**
 * Writes down where in the raw text of a log which times stand. A plain log is kept as evidence, and the index leads into
 * that. The text of a packed one is written as gzip members one behind the other, beside the scan and in other threads;
 * `gunzip` gives it back byte for byte.
 */
export class ArchiveWriter {
  private readonly members: ArchiveMember[] = [];
  private bytes = 0;
  private apart = new Uint8Array(0);
  private readonly pending: Promise<void>[] = [];
  private written: Promise<void> = Promise.resolve();

  private constructor(
    private readonly path: string,
    /** Of the packed members; undefined where the log is plain. */
    private readonly file: FileHandle | undefined,
  ) {}

  /** @param path of the archive, to which each of its files adds an ending. */
  static async create(path: string, isPacked: boolean): Promise<ArchiveWriter> {
    return new ArchiveWriter(path, isPacked ? await open(packedPath(path), 'w') : undefined);
  }

  /**
   * Takes the next piece of text. Waits only when too many pieces are under way.
   * @throws the error of the disk, as soon as it is known.
   */
  async add(text: Uint8Array, content: MemberContent): Promise<void> {
    const before = this.written;
    this.written =
      this.file === undefined ? this.noted(text, content, before) : this.packed(text, content, before, this.file);
    // Awaited below or at the end; without this a failure in between would end the process.
    this.written.catch(() => undefined);
    this.pending.push(this.written);
    if (this.pending.length >= IN_FLIGHT) await this.pending.shift();
  }

  /**
   * Hashed in another thread, which takes a copy before the call returns (Web Cryptography, `digest`, step 2): the next text is
   * read over it meanwhile. It takes none of shared memory, so that the text goes through a buffer of its own.
   */
  private async noted(text: Uint8Array, content: MemberContent, before: Promise<void>): Promise<void> {
    const { length } = text;
    if (this.apart.length < length) this.apart = new Uint8Array(length);
    this.apart.set(text);
    const digest = await webcrypto.subtle.digest('SHA-256', this.apart.subarray(0, length));
    await before;
    this.note(length, Buffer.from(digest).toString('hex'), content);
  }

  private async packed(
    text: Uint8Array,
    content: MemberContent,
    before: Promise<void>,
    file: FileHandle,
  ): Promise<void> {
    const member = await pack(new Uint8Array(text), { level: LEVEL });
    const sha256 = hash('sha256', member, 'hex');
    await before;
    await file.write(member, 0, member.length, this.bytes);
    this.note(member.length, sha256, content);
  }

  private note(bytes: number, sha256: string, content: MemberContent): void {
    this.members.push({ offset: this.bytes, bytes, sha256, ...content });
    this.bytes += bytes;
  }

  /** Writes what is left, and then the index. */
  async finish(form: RawForm): Promise<void> {
    await this.written;
    await this.file?.close();
    const isPacked = this.file !== undefined;
    const index: ArchiveIndex = { format: 3, form, isPacked, bytes: this.bytes, members: this.members };
    const temporary = `${indexPath(this.path)}.new`;
    await writeFile(temporary, JSON.stringify(index));
    await rename(temporary, indexPath(this.path));
  }

  /** Leaves the archive without an index, so that nobody takes it for whole. */
  async abandon(): Promise<void> {
    await this.written.catch(() => undefined);
    await this.file?.close();
  }
}
