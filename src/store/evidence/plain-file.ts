import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { AppError, BadInputError, type Problem } from '../../base/errors.js';

export interface KeptFile {
  readonly sha256: string;
  readonly bytes: number;
}

const COPY_SIZE = 1 << 20;

/**
 * Copies a file that may be anything, hashes it on the way, and syncs it where it has to.
 * @param name of the source, for messages.
 * @param waitsForDisk as `writeAndHash`.
 * @throws AppError BAD_INPUT when it is no plain file; BadInputError when it was changed while it was copied.
 */
export async function copyFile(source: string, copy: string, name: string, waitsForDisk: boolean): Promise<KeptFile> {
  const file = await openPlainFile(source);
  try {
    const before = await file.stat({ bigint: true });
    const kept = await writeAndHash(copy, piecesOf(file), waitsForDisk);
    const after = await file.stat({ bigint: true });
    const stoodStill = before.mtimeNs === after.mtimeNs && before.ctimeNs === after.ctimeNs;
    if (stoodStill && after.size === BigInt(kept.bytes)) return kept;
    const found = `a file that changed while it was copied (${before.size} bytes, then ${after.size})`;
    throw new BadInputError([changedFile(name, found)]);
  } finally {
    await file.close();
  }
}

/** Two buffers take turns: while one is written and hashed, the next is read. A piece is valid until the next is asked for. */
async function* piecesOf(source: fs.promises.FileHandle): AsyncGenerator<Uint8Array> {
  let [current, other] = [Buffer.allocUnsafe(COPY_SIZE), Buffer.allocUnsafe(COPY_SIZE)];
  let position = 0;
  let reading = source.read(current, 0, COPY_SIZE, 0);
  try {
    for (;;) {
      const { bytesRead } = await reading;
      if (bytesRead === 0) return;
      position += bytesRead;
      reading = source.read(other, 0, COPY_SIZE, position);
      yield current.subarray(0, bytesRead);
      [current, other] = [other, current];
    }
  } finally {
    // When writing fails a read is still under way, and its buffer must not be let go before it is done.
    await reading.catch(() => undefined);
  }
}

/** @param waitsForDisk whether what was written has to be on the disk when it returns. */
export async function writeAndHash(
  file: string,
  pieces: AsyncIterable<Uint8Array> | Iterable<Uint8Array>,
  waitsForDisk: boolean,
): Promise<KeptFile> {
  const hash = createHash('sha256');
  const target = await fs.promises.open(file, 'wx', 0o444);
  let bytes = 0;
  try {
    for await (const piece of pieces) {
      const writing = target.writeFile(piece);
      hash.update(piece);
      await writing;
      bytes += piece.length;
    }
    if (waitsForDisk) await target.sync();
  } finally {
    await target.close();
  }
  return { sha256: hash.digest('hex'), bytes };
}

/** What a file looks like at a moment: whoever writes to it changes that. */
export function stampOf(file: string): string {
  const { mtimeNs, ctimeNs, size } = fs.statSync(file, { bigint: true });
  return [mtimeNs, ctimeNs, size].join(' ');
}

/** A file that did not stand still while it was taken in. */
export const changedFile = (file: string, found: string): Problem => ({
  code: 'file-changed',
  file,
  found,
  expected: 'a file to which nobody writes while it is taken in',
  remedy: 'wait until the recorder or the other program has closed it, and take the folder in again',
});

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

/** Makes names in a folder survive a power cut. */
export function syncFolder(folder: string): void {
  const handle = fs.openSync(folder, 'r');
  try {
    fs.fsyncSync(handle);
  } finally {
    fs.closeSync(handle);
  }
}
