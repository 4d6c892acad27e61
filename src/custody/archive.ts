import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { Transform } from 'node:stream';
import { finished, pipeline } from 'node:stream/promises';
import * as yauzl from 'yauzl';
import { ZipFile } from 'yazl';
import { AppError } from '../base/errors.js';

/** What was written of one file. */
export interface Written {
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
}

const READ_SIZE = 1 << 18;
const STORED = 0;
/** Zip cannot say earlier; one fixed time keeps equal contents equal. */
const MODIFIED = new Date('1980-01-01T00:00:00Z');

/**
 * Writes an archive file by file, never more than a few blocks in memory. Nothing is compressed: logs mostly arrive
 * packed, copying stays as fast as the disk, and an archive can never unpack to more than its own size.
 */
export class ArchiveWriter {
  private readonly zip = new ZipFile();
  private readonly done: Promise<void>;

  constructor(file: string) {
    const target = fs.createWriteStream(file, { flags: 'wx', mode: 0o600, flush: true, highWaterMark: READ_SIZE });
    this.zip.on('error', (error) => target.destroy(error));
    this.done = pipeline(this.zip.outputStream, target);
    // Told by whichever call is waiting for it.
    this.done.catch(() => undefined);
  }

  /** Adds a file; its hash is taken on the way. */
  async addFile(file: string, path: string, upTo?: number): Promise<Written> {
    const hash = createHash('sha256');
    let bytes = 0;
    const counted = new Transform({
      transform(chunk: Buffer, _encoding, give) {
        hash.update(chunk);
        bytes += chunk.length;
        give(null, chunk);
      },
      highWaterMark: READ_SIZE,
    });
    const last = upTo === undefined ? {} : { end: Math.max(0, upTo - 1) };
    const source = fs.createReadStream(file, { highWaterMark: READ_SIZE, ...last });
    source.on('error', (error) => counted.destroy(error));
    this.zip.addReadStreamLazy(path, OPTIONS, (give) => give(null, source.pipe(counted)));
    // When the disk is full it is the archive that fails, and this file would wait for ever.
    await Promise.race([finished(counted, { cleanup: true }), this.done]);
    return { path, bytes, sha256: hash.digest('hex') };
  }

  /** Adds the last file and ends the archive; when this settles it is on the disk. */
  async end(text: string, path: string): Promise<void> {
    this.zip.addBuffer(Buffer.from(text), path, OPTIONS);
    this.zip.end();
    await this.done;
  }

  /** Gives up: what was written so far is left to the caller to remove. */
  async abandon(): Promise<void> {
    (this.zip.outputStream as NodeJS.ReadableStream & { destroy(): void }).destroy();
    await this.done.catch(() => undefined);
  }
}

const OPTIONS = { compress: false, mtime: MODIFIED, mode: 0o100600 };

/** An archive that was opened, with every file that it lists. */
export interface OpenArchive {
  /** Path in the archive → size in bytes. */
  readonly sizes: ReadonlyMap<string, number>;
  read(path: string): Promise<AsyncIterable<Buffer>>;
  close(): void;
}

/**
 * Opens an archive without unpacking anything.
 * @throws AppError ALTERED when it is no archive of this program: packed or encrypted files, a name twice, or files
 * that claim more bytes than the archive has.
 */
export async function openArchive(file: string): Promise<OpenArchive> {
  const refuse = (why: string, name?: string): never => {
    throw new AppError('ALTERED', `${file} is no backup of this program, or was altered: ${why}`, {
      file: name ?? file,
    });
  };
  const archiveBytes = fs.statSync(file).size;
  const zip = await yauzl.openPromise(file, { autoClose: false }).catch((error: Error) => refuse(error.message));
  const entries = new Map<string, yauzl.Entry>();
  try {
    let claimed = 0;
    for await (const entry of zip.eachEntry()) {
      const { fileName: name, compressionMethod, compressedSize, uncompressedSize } = entry;
      if (entries.has(name)) refuse(`it holds ${name} twice`, name);
      if (entry.isEncrypted() || compressionMethod !== STORED || compressedSize !== uncompressedSize) {
        refuse(`${name} is packed or encrypted, and a backup is neither`, name);
      }
      claimed += uncompressedSize;
      if (claimed > archiveBytes) refuse('its files claim more bytes than the archive has', name);
      entries.set(name, entry);
    }
  } catch (error) {
    zip.close();
    if (error instanceof AppError) throw error;
    refuse((error as Error).message);
  }
  return {
    sizes: new Map([...entries].map(([name, entry]) => [name, entry.uncompressedSize])),
    read: async (path) => zip.openReadStreamPromise(entries.get(path)!),
    close: () => zip.close(),
  };
}
