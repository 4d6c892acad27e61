import { createHash } from 'node:crypto';
import { createReadStream, type ReadStream } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { createGunzip } from 'node:zlib';
import type { Problem } from '../base/errors.js';
import { PIECE_BYTES, SideHash } from './side-hash.js';

/** What was read of a file. */
export interface TextRead {
  readonly textSha256: string;
  /** Hash and size of the file as it came, before unpacking. */
  readonly sha256: string;
  readonly bytes: number;
}

/** The text of one log file, hashed on the way. Plain or gzip is told by its first bytes: evidence has no file extension. */
export class TextSource {
  private position = 0;
  private packed: ReadStream | undefined;
  /** Of the file as it came. */
  private readonly hash: SideHash;
  /** Of what was unpacked. */
  private readonly textHash = createHash('sha256');

  private constructor(
    private readonly path: string,
    private readonly file: FileHandle,
    readonly isGzip: boolean,
    /** Size of the file as it came. */
    readonly totalBytes: number,
  ) {
    // Unpacking keeps another thread busy already, and holds as much memory as there may be.
    this.hash = new SideHash(isGzip ? 0 : totalBytes);
  }

  static async open(path: string): Promise<TextSource> {
    const file = await open(path);
    try {
      const { bytesRead, buffer } = await file.read(Buffer.alloc(2), 0, 2, 0);
      const isGzip = bytesRead === 2 && buffer[0] === 0x1f && buffer[1] === 0x8b;
      return new TextSource(path, file, isGzip, (await file.stat()).size);
    } catch (error) {
      await file.close();
      throw error;
    }
  }

  /** Bytes of the file as it came that were read so far. */
  get doneBytes(): number {
    return this.packed === undefined ? this.position : this.packed.bytesRead;
  }

  /** The text in large chunks. A chunk is only valid until the next one is asked for. */
  chunks(): AsyncGenerator<Uint8Array> {
    return this.isGzip ? this.unpacked() : this.plain();
  }

  /** Once all chunks were taken. Padding of a gzip file, which unpacking need not read, is a part of the file as it came. */
  async finish(): Promise<TextRead> {
    if (this.isGzip) for await (const _ of this.plain());
    const sha256 = await this.hash.digest();
    return { textSha256: this.isGzip ? this.textHash.digest('hex') : sha256, sha256, bytes: this.position };
  }

  async close(): Promise<void> {
    await this.hash.close();
    await this.file.close();
  }

  /** While one buffer is used, another is read into, and nothing is left for the garbage collector. */
  private async *plain(): AsyncGenerator<Uint8Array> {
    this.position = 0;
    let buffer = await this.hash.room();
    let pending = this.file.read(buffer, 0, PIECE_BYTES, 0);
    try {
      for (;;) {
        const { bytesRead } = await pending;
        if (bytesRead === 0) return;
        this.position += bytesRead;
        const next = await this.hash.room();
        pending = this.file.read(next, 0, PIECE_BYTES, this.position);
        yield buffer.subarray(0, bytesRead);
        this.hash.take(buffer, bytesRead);
        buffer = next;
      }
    } finally {
      // When the reader gives up, a read is still under way, and its buffer must not be let go before it is done.
      await pending.catch(() => undefined);
    }
  }

  /** Members one behind the other are one text, zeros behind the last are padding. */
  private async *unpacked(): AsyncGenerator<Uint8Array> {
    const packed = createReadStream(this.path, { highWaterMark: PIECE_BYTES });
    const text = createGunzip({ chunkSize: PIECE_BYTES });
    this.packed = packed;
    packed.on('error', (error) => text.destroy(error));
    try {
      for await (const chunk of packed.pipe(text) as AsyncIterable<Buffer>) {
        this.textHash.update(chunk);
        yield chunk;
      }
    } finally {
      packed.destroy();
      text.destroy();
    }
  }
}

const GZIP_TROUBLE: Readonly<Record<string, Pick<Problem, 'code' | 'expected'>>> = {
  Z_BUF_ERROR: { code: 'gzip-cut', expected: 'a gzip file that is complete to its last byte' },
  Z_DATA_ERROR: { code: 'gzip-damaged', expected: 'a gzip file whose checksums agree with its content' },
};

/** What a failed unpacking says of the file; undefined for any other error. */
export function gzipProblem(error: unknown, fileName: string, rows: number): Problem | undefined {
  const { code, message } = error as NodeJS.ErrnoException;
  const trouble = GZIP_TROUBLE[code ?? ''];
  if (trouble === undefined) return undefined;
  const remedy = 'copy the file again from where it was packed; nothing of it was used';
  return { ...trouble, file: fileName, found: `${message} after ${rows} rows`, remedy };
}
