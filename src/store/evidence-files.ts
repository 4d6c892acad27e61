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

  /** Copies a file in. The same bytes twice are one file. */
  async keep(source: string): Promise<KeptFile> {
    const temporary = path.join(this.incoming, randomUUID());
    const hash = createHash('sha256');
    let bytes = 0;
    try {
      await pipeline(
        // Without following links: what a link points to may lie outside the folder that was given to us.
        fs.createReadStream(source, {
          flags: fs.constants.O_RDONLY | fs.constants.O_NOFOLLOW,
          highWaterMark: 1 << 20,
        } as never),
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
      this.settle(temporary, sha256);
      return { sha256, bytes };
    } finally {
      fs.rmSync(temporary, { force: true });
    }
  }

  private settle(temporary: string, sha256: string): void {
    const target = this.pathOf(sha256);
    if (fs.existsSync(target)) return;
    fs.mkdirSync(path.dirname(target), { recursive: true });
    fs.renameSync(temporary, target);
    for (const folder of [path.dirname(target), this.folder]) syncFolder(folder);
  }

  read(sha256: string): Buffer {
    if (!fs.existsSync(this.pathOf(sha256))) throw new NotFoundError('evidence', sha256);
    return fs.readFileSync(this.pathOf(sha256));
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

function syncFolder(folder: string): void {
  const handle = fs.openSync(folder, 'r');
  try {
    fs.fsyncSync(handle);
  } finally {
    fs.closeSync(handle);
  }
}
