import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import { AppError, BadInputError, NotFoundError, type Problem } from '../base/errors.js';

export interface KeptFile {
  readonly sha256: string;
  readonly bytes: number;
}

/** A file as received, copied, hashed and synced. What is read of it is read from this copy: the source may go on changing. */
export interface ReceivedFile extends KeptFile {
  /** Where the copy lies until it is kept. */
  readonly path: string;
  /** Gives the copy its name among the evidence; `syncNames` makes it last. */
  keep(): void;
  /** Lets go of a copy that was not kept. */
  drop(): void;
}

/** What is left of a file whose bytes were removed. The reason stands in the audit trail. */
const Tombstone = z.strictObject({
  format: z.literal(1),
  sha256: z.string(),
  redactedAt: z.iso.datetime(),
  persons: z.array(z.string()),
});
export type Tombstone = z.infer<typeof Tombstone>;

const READ_SIZE = 1 << 18;
const COPY_SIZE = 1 << 20;
/** Copies that were begun this long ago belong to nobody any more. */
const LEFT_BEHIND_MS = 24 * 3_600_000;
const TOMBSTONE = '.redacted';

/**
 * Files as received, each named by the SHA-256 of its bytes. A file is written under a temporary name, hashed on the
 * way, synced and renamed: a crash leaves no half file under a hash. Files flagged as personal data lie apart from the
 * others, in a folder of their own. Of a redacted file a tombstone is left.
 */
export class EvidenceFiles {
  /** Folders that got names which a power cut may still take. */
  private readonly unsynced = new Set<string>();

  constructor(private readonly folder: string) {
    fs.mkdirSync(this.incoming, { recursive: true });
    sweep(this.incoming);
  }

  private get incoming(): string {
    return path.join(this.folder, 'incoming');
  }

  private get apart(): string {
    return path.join(this.folder, 'personal');
  }

  pathOf(sha256: string): string {
    const apart = placeIn(this.apart, sha256);
    return fs.existsSync(apart) ? apart : placeIn(this.folder, sha256);
  }

  /** Whether a file lies apart because it was flagged as personal data: pages and packages leave it out. */
  liesApart(sha256: string): boolean {
    return fs.existsSync(placeIn(this.apart, sha256));
  }

  /**
   * Copies a file in, or bytes that were read already, under a temporary name, hashed and synced. It becomes evidence when it is kept; the same
   * bytes twice are one file, and bytes that were redacted are not kept again.
   * @param options.personalData keeps it apart.
   * @param options.name of the source, for messages.
   * @throws AppError BAD_INPUT when `source` is a link, a folder or anything else but a plain file; BadInputError when it
   * was changed while it was copied.
   */
  async receive(
    source: string | Uint8Array,
    options: { personalData?: boolean; name?: string } = {},
  ): Promise<ReceivedFile> {
    const copy = path.join(this.incoming, randomUUID());
    const drop = () => fs.rmSync(copy, { force: true });
    try {
      const kept =
        typeof source === 'string'
          ? await copyFile(source, copy, options.name ?? source)
          : await writeAndHash(copy, [source]);
      const keep = () => {
        if (!this.tombstone(kept.sha256)) this.settle(copy, kept, options.personalData === true);
      };
      const known = this.pathOf(kept.sha256);
      if (fs.statSync(known, { throwIfNoEntry: false })?.size !== kept.bytes)
        return { ...kept, path: copy, keep, drop };
      // A folder that is taken in again must not need its room twice.
      drop();
      return { ...kept, path: known, keep, drop };
    } catch (error) {
      drop();
      throw error;
    }
  }

  /** Copies a file in at once. @throws as `receive`. */
  async keep(source: string | Uint8Array, options: { personalData?: boolean } = {}): Promise<KeptFile> {
    const received = await this.receive(source, options);
    try {
      received.keep();
      this.syncNames();
      return { sha256: received.sha256, bytes: received.bytes };
    } finally {
      received.drop();
    }
  }

  private settle(temporary: string, { sha256, bytes }: KeptFile, personalData: boolean): void {
    const there = fs.statSync(this.pathOf(sha256), { throwIfNoEntry: false });
    if (there && there.size !== bytes) {
      throw new AppError('ALTERED', `evidence ${sha256} was altered: its length changed`, { sha256 });
    }
    const target = personalData ? placeIn(this.apart, sha256) : this.pathOf(sha256);
    if (fs.existsSync(target)) return;
    fs.mkdirSync(path.dirname(target), { recursive: true, mode: 0o700 });
    fs.renameSync(there ? this.pathOf(sha256) : temporary, target);
    for (const folder of [path.dirname(target), path.dirname(path.dirname(target)), this.folder]) {
      this.unsynced.add(folder);
    }
  }

  /** Makes the names of all files that were kept since survive a power cut: once for many, since each sync takes its time. */
  syncNames(): void {
    for (const folder of this.unsynced) syncFolder(folder);
    this.unsynced.clear();
  }

  read(sha256: string): Buffer {
    if (!fs.existsSync(this.pathOf(sha256))) throw new NotFoundError('evidence', sha256);
    return fs.readFileSync(this.pathOf(sha256));
  }

  /** SHA-256 names of all files kept. */
  list(): string[] {
    return [...namesIn(this.folder), ...namesIn(this.apart)].filter((name) => !name.endsWith(TOMBSTONE)).sort();
  }

  /** SHA-256 names of all files of which only a tombstone is left. */
  redacted(): string[] {
    const names = [...namesIn(this.folder), ...namesIn(this.apart)];
    return names.filter((name) => name.endsWith(TOMBSTONE)).map((name) => name.slice(0, -TOMBSTONE.length));
  }

  /** @throws AppError ALTERED when the bytes are no longer those that were received, NOT_FOUND when they were redacted. */
  async verify(sha256: string): Promise<void> {
    const tombstone = this.tombstone(sha256);
    if (tombstone) {
      const by = tombstone.persons.join(' and ');
      throw new AppError(
        'NOT_FOUND',
        `the bytes of evidence ${sha256} were removed on ${tombstone.redactedAt} by ${by}`,
      );
    }
    const fault = await this.faultOf(sha256);
    if (fault !== undefined) throw new AppError('ALTERED', `evidence ${sha256} ${fault}`, { sha256 });
  }

  /** What is wrong with a file that should be here, or undefined. */
  async faultOf(sha256: string): Promise<string | undefined> {
    return faultOfFile(this.pathOf(sha256), sha256);
  }

  /** What a redaction left behind, or undefined when there was none. */
  tombstone(sha256: string): Tombstone | undefined {
    for (const folder of [this.folder, this.apart]) {
      const file = `${placeIn(folder, sha256)}${TOMBSTONE}`;
      if (fs.existsSync(file)) return Tombstone.parse(JSON.parse(fs.readFileSync(file, 'utf8')));
    }
    return undefined;
  }

  /** Removes the bytes of a file for good and leaves a tombstone. Doing it again changes nothing. */
  redact(tombstone: Tombstone): void {
    const file = this.pathOf(tombstone.sha256);
    fs.mkdirSync(path.dirname(file), { recursive: true });
    if (!this.tombstone(tombstone.sha256)) {
      fs.writeFileSync(`${file}${TOMBSTONE}`, `${JSON.stringify(tombstone)}\n`, { mode: 0o444, flush: true });
    }
    fs.rmSync(file, { force: true });
    syncFolder(path.dirname(file));
  }
}

/** What is wrong with a file that must have this SHA-256, in words, or undefined. Memory does not grow with the file. */
export async function faultOfFile(file: string, sha256: string): Promise<string | undefined> {
  const hash = createHash('sha256');
  try {
    for await (const chunk of fs.createReadStream(file, { highWaterMark: READ_SIZE })) hash.update(chunk as Buffer);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    return code === 'ENOENT' ? 'is missing' : `cannot be read (${code})`;
  }
  return hash.digest('hex') === sha256 ? undefined : 'was altered';
}

/** @param name of the source, for messages. */
async function copyFile(source: string, copy: string, name: string): Promise<KeptFile> {
  const file = await openPlainFile(source);
  try {
    const before = await file.stat({ bigint: true });
    const kept = await writeAndHash(copy, piecesOf(file));
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

/** What was written is on the disk when it returns. */
async function writeAndHash(file: string, pieces: AsyncIterable<Uint8Array> | Iterable<Uint8Array>): Promise<KeptFile> {
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
    await target.sync();
  } finally {
    await target.close();
  }
  return { sha256: hash.digest('hex'), bytes };
}

/** A file that did not stand still while it was taken in. */
export const changedFile = (file: string, found: string): Problem => ({
  code: 'file-changed',
  file,
  found,
  expected: 'a file to which nobody writes while it is taken in',
  remedy: 'wait until the recorder or the other program has closed it, and take the folder in again',
});

/** A process that was killed leaves its half copy behind. */
function sweep(incoming: string): void {
  for (const name of fs.readdirSync(incoming)) {
    const file = path.join(incoming, name);
    const found = fs.statSync(file, { throwIfNoEntry: false });
    if (found !== undefined && Date.now() - found.mtimeMs > LEFT_BEHIND_MS) fs.rmSync(file, { force: true });
  }
}

const placeIn = (folder: string, sha256: string): string => path.join(folder, sha256.slice(0, 2), sha256);

function namesIn(folder: string): string[] {
  if (!fs.existsSync(folder)) return [];
  const groups = fs.readdirSync(folder).filter((name) => /^[0-9a-f]{2}$/.test(name));
  return groups.flatMap((group) => fs.readdirSync(path.join(folder, group)));
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

/** Makes names in a folder survive a power cut. */
export function syncFolder(folder: string): void {
  const handle = fs.openSync(folder, 'r');
  try {
    fs.fsyncSync(handle);
  } finally {
    fs.closeSync(handle);
  }
}
