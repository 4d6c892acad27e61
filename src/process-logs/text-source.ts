import { createHash } from 'node:crypto';
import { createReadStream, type ReadStream } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { createGunzip } from 'node:zlib';
import type { Problem } from '../base/errors.js';

/** The file as it came, before unpacking. */
export interface Received {
  readonly sha256: string;
  readonly bytes: number;
}

const READ_SIZE = 1 << 20;

/** The text of one log file, plain or gzip: told by its first bytes, since evidence has no file extension. */
export class TextSource {
  private position = 0;
  private packed: ReadStream | undefined;

  private constructor(
    private readonly path: string,
    private readonly file: FileHandle,
    readonly isGzip: boolean,
    /** Size of the file as it came. */
    readonly totalBytes: number,
  ) {}

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

  /** Hash and size of the bytes as received, padding included, which unpacking need not read. */
  async received(): Promise<Received> {
    const hash = createHash('sha256');
    let bytes = 0;
    for await (const chunk of this.plain()) {
      hash.update(chunk);
      bytes += chunk.length;
    }
    return { sha256: hash.digest('hex'), bytes };
  }

  async close(): Promise<void> {
    await this.file.close();
  }

  /**
   * Two buffers take turns: one is read into while the other is used, and nothing is left for the garbage collector.
   */
  private async *plain(): AsyncGenerator<Uint8Array> {
    let current = Buffer.allocUnsafe(READ_SIZE);
    let other = Buffer.allocUnsafe(READ_SIZE);
    this.position = 0;
    let pending = this.file.read(current, 0, READ_SIZE, 0);
    try {
      for (;;) {
        const { bytesRead } = await pending;
        if (bytesRead === 0) return;
        this.position += bytesRead;
        pending = this.file.read(other, 0, READ_SIZE, this.position);
        yield current.subarray(0, bytesRead);
        [current, other] = [other, current];
      }
    } finally {
      // When the reader gives up, a read is still under way, and its buffer must not be let go before it is done.
      await pending.catch(() => undefined);
    }
  }

  /** Members one behind the other are one text, zeros behind the last are padding. */
  private async *unpacked(): AsyncGenerator<Uint8Array> {
    const packed = createReadStream(this.path, { highWaterMark: READ_SIZE });
    const text = createGunzip({ chunkSize: READ_SIZE });
    this.packed = packed;
    packed.on('error', (error) => text.destroy(error));
    try {
      yield* packed.pipe(text);
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
