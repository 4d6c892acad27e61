import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import { AppError, NotFoundError } from '../errors.js';

export interface KeptFile {
  readonly sha256: string;
  readonly bytes: number;
}

/**
 * Files as received, each named by the SHA-256 of its bytes. A file is written under a temporary name, hashed on the
 * way, synced and renamed: a crash leaves no half file under a hash.
 */
export class EvidenceFiles {
  constructor(private readonly folder: string) {
    fs.mkdirSync(this.incoming, { recursive: true });
  }

  private get incoming(): string {
    return path.join(this.folder, 'incoming');
  }

  pathOf(sha256: string): string {
    return path.join(this.folder, sha256.slice(0, 2), sha256);
  }

  /**
   * Copies a file in. The same bytes twice are one file.
   * @throws AppError BAD_INPUT when `source` is a link, a folder or anything else but a plain file.
   */
  async keep(source: string): Promise<KeptFile> {
    const temporary = path.join(this.incoming, randomUUID());
    const hash = createHash('sha256');
    let bytes = 0;
    const file = await openPlainFile(source);
    try {
      await pipeline(
        file.createReadStream({ highWaterMark: 1 << 20 }),
        async function* (chunks) {
          for await (const chunk of chunks) {
            hash.update(chunk as Buffer);
            bytes += (chunk as Buffer).length;
            yield chunk;
          }
        },
        fs.createWriteStream(temporary, { mode: 0o444, flush: true }),
      );
      const sha256 = hash.digest('hex');
      this.settle(temporary, sha256, bytes);
      return { sha256, bytes };
    } finally {
      await file.close();
      fs.rmSync(temporary, { force: true });
    }
  }

  private settle(temporary: string, sha256: string, bytes: number): void {
    const target = this.pathOf(sha256);
    const there = fs.statSync(target, { throwIfNoEntry: false });
    if (there?.size === bytes) return;
    if (there) throw new AppError('ALTERED', `evidence ${sha256} was altered: its length changed`, { sha256 });
    fs.mkdirSync(path.dirname(target), { recursive: true });
    fs.renameSync(temporary, target);
    for (const folder of [path.dirname(target), this.folder]) syncFolder(folder);
  }

  read(sha256: string): Buffer {
    if (!fs.existsSync(this.pathOf(sha256))) throw new NotFoundError('evidence', sha256);
    return fs.readFileSync(this.pathOf(sha256));
  }

  /** SHA-256 names of all files kept. */
  list(): string[] {
    const groups = fs.readdirSync(this.folder).filter((name) => /^[0-9a-f]{2}$/.test(name));
    return groups.flatMap((group) => fs.readdirSync(path.join(this.folder, group))).sort();
  }

  /** @throws AppError ALTERED when the bytes are no longer those that were received. */
  async verify(sha256: string): Promise<void> {
    if (!fs.existsSync(this.pathOf(sha256))) {
      throw new AppError('ALTERED', `evidence ${sha256} is missing`, { sha256 });
    }
    const hash = createHash('sha256');
    for await (const chunk of fs.createReadStream(this.pathOf(sha256))) hash.update(chunk as Buffer);
    if (hash.digest('hex') !== sha256) throw new AppError('ALTERED', `evidence ${sha256} was altered`, { sha256 });
  }
}

/** Without following a link, which may lead outside the folder that was given to us, and without waiting on a pipe. */
async function openPlainFile(source: string): Promise<fs.promises.FileHandle> {
  const { O_RDONLY, O_NOFOLLOW, O_NONBLOCK } = fs.constants;
  const refused = () => new AppError('BAD_INPUT', `${source} is not a plain file: only plain files are taken in`);
  const file = await fs.promises
    .open(source, O_RDONLY | O_NOFOLLOW | O_NONBLOCK)
    .catch((error: NodeJS.ErrnoException) => {
      throw error.code === 'ELOOP' || error.code === 'ENXIO' ? refused() : error;
    });
  if ((await file.stat()).isFile()) return file;
  await file.close();
  throw refused();
}

function syncFolder(folder: string): void {
  const handle = fs.openSync(folder, 'r');
  try {
    fs.fsyncSync(handle);
  } finally {
    fs.closeSync(handle);
  }
}
