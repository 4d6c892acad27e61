import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import { AppError, NotFoundError } from '../../base/errors.js';
import type { FileFault } from '../../ledger/stored-fault.js';
import { EvidenceFolder } from './evidence-folder.js';
import type { EvidencePort, FinishedFile } from './evidence-port.js';
import { faultOfFile } from './file-fault.js';
import { copyFile, type KeptFile, writeAndHash } from './plain-file.js';

/** A file as received, copied, hashed and synced. What is read of it is read from this copy: the source may go on changing. */
export interface ReceivedFile extends KeptFile {
  /** Where the copy lies until it is kept. */
  readonly path: string;
  readonly personalData: boolean;
  /** Lets go of a copy that was not kept. */
  drop(): void;
}

/** What is left of a file whose bytes were removed. The reason stands in the audit trail. */
export const Tombstone = z.strictObject({
  format: z.literal(1),
  sha256: z.string(),
  redactedAt: z.iso.datetime(),
  persons: z.array(z.string()),
});
export type Tombstone = z.infer<typeof Tombstone>;

export interface PlacedFile {
  /** That it has where evidence lies, or would have. */
  readonly name: string;
  /** Where it can be read; undefined when it is not there. */
  readonly path: string | undefined;
  /** Lets go of it where it was fetched for this. */
  done(): void;
}

/** How many bytes lay under each name that was asked for before a change; undefined where there were none. */
export type FoundAhead = ReadonlyMap<string, number | undefined>;

interface Located {
  readonly name: string;
  /** Undefined when it is not there. */
  readonly bytes: number | undefined;
}

/** Copies that were begun this long ago belong to nobody any more. */
const LEFT_BEHIND_MS = 24 * 3_600_000;
/** Ending of the tombstone of a file. */
const REDACTED = '.redacted';

/** Evidence flagged as personal data lies apart from the others. */
const apart = (name: string): string => `personal/${name}`;
const tombstoneOf = (name: string): string => `${name}${REDACTED}`;
const missing: FileFault = { code: 'is missing' };

/** Where a name lies by the sizes that were found: apart, when it lies there too. */
function locatedIn(sizes: FoundAhead, name: string): Located {
  const secret = sizes.get(apart(name));
  return secret === undefined ? { name, bytes: sizes.get(name) } : { name: apart(name), bytes: secret };
}

/**
 * Files as received, each named by the SHA-256 of its bytes. A file is copied to this machine under a temporary name,
 * hashed on the way and synced, before it is handed to where evidence lies: a crash leaves no half file under a hash. Of a
 * redacted file a tombstone is left.
 */
export class EvidenceFiles {
  /**
   * @param incoming folder of this machine for copies that are under way.
   * @param isMoved whether evidence was moved away from the port since.
   * @param waitsForDisk whether a file has to be on the disk when it was received.
   */
  constructor(
    private readonly port: EvidencePort,
    private readonly incoming: string,
    private readonly isMoved: () => boolean = () => false,
    private readonly waitsForDisk = true,
  ) {
    fs.mkdirSync(incoming, { recursive: true });
    sweep(incoming);
  }

  static inFolder(folder: string): EvidenceFiles {
    return new EvidenceFiles(new EvidenceFolder(folder), path.join(folder, 'incoming'));
  }

  /** Where a file can be read. @throws NotFoundError when it is not there. */
  async pathOf(sha256: string): Promise<string> {
    const { path: found } = await this.placed(sha256, 'bytes');
    if (found === undefined) throw new NotFoundError('evidence', sha256);
    return found;
  }

  /** What is kept of a file that was received: its bytes, or the tombstone of one that was redacted. */
  async placed(sha256: string, what: 'bytes' | 'tombstone'): Promise<PlacedFile> {
    const { name, bytes } = await this.locate(what === 'bytes' ? sha256 : tombstoneOf(sha256));
    const wasHere = this.port.here(name) !== undefined;
    return {
      name,
      path: bytes === undefined ? undefined : await this.port.get(name),
      done: () => {
        if (!wasHere) this.port.letGo(name);
      },
    };
  }

  private async locate(name: string): Promise<Located> {
    return locatedIn(await this.port.sizesOf([apart(name), name]), name);
  }

  /** Whether a file lies apart because it was flagged as personal data: pages and packages leave it out. */
  async liesApart(sha256: string): Promise<boolean> {
    return (await this.port.sizesOf([apart(sha256)])).size > 0;
  }

  /**
   * Copies a file in, or bytes that were read already, under a temporary name, hashed and synced. It becomes evidence
   * when it is kept; the same bytes twice are one file, and bytes that were redacted are not kept again.
   * @param options.personalData keeps it apart.
   * @param options.name of the source, for messages.
   * @throws as `copyFile`.
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
          ? await copyFile(source, copy, options.name ?? source, this.waitsForDisk)
          : await writeAndHash(copy, [source], this.waitsForDisk);
      const received = { ...kept, personalData: options.personalData === true, drop };
      // A copy of what lies far may be let go of at any time: whoever received reads their own.
      if (this.port.isFar) return { ...received, path: copy };
      const known = this.port.here(apart(kept.sha256)) ?? this.port.here(kept.sha256);
      if (known === undefined || sizeOf(known) !== kept.bytes) return { ...received, path: copy };
      // A folder that is taken in again must not need its room twice.
      drop();
      return { ...received, path: known };
    } catch (error) {
      drop();
      throw error;
    }
  }

  /**
   * Puts copies where evidence lies already before the change that records them, where that is far: nobody else may have to
   * wait for a network. What is not recorded then lies there and is named by nothing.
   * @returns what `keepAll` then need not ask for.
   * @throws as `keepAll`.
   */
  async sendAhead(received: readonly ReceivedFile[]): Promise<FoundAhead> {
    if (!this.port.isFar) return new Map();
    const found = await this.foundOf(received);
    const { fresh } = await this.sorted(received, found);
    // Whoever received them reads them still.
    const links = fresh.map(({ name, file }) => ({ name, from: file, file: path.join(this.incoming, randomUUID()) }));
    try {
      for (const { from, file } of links) fs.linkSync(from, file);
      await this.port.put(links);
    } finally {
      for (const { file } of links) fs.rmSync(file, { force: true });
    }
    for (const { name, bytes } of fresh) found.set(name, bytes);
    return found;
  }

  /**
   * Makes evidence of copies; it lasts when it resolves.
   * @param ahead what `sendAhead` found of them: only what it was not asked for is looked for now.
   * @throws AppError ALTERED when other bytes lie under the name, CONFLICT when the evidence was moved away.
   */
  async keepAll(received: readonly ReceivedFile[], ahead: FoundAhead = new Map()): Promise<void> {
    if (this.isMoved()) {
      throw new AppError(
        'CONFLICT',
        'the evidence was moved elsewhere meanwhile: nothing was stored, start the program again',
      );
    }
    const { fresh, toMove, known, plainToo } = await this.sorted(received, await this.foundOf(received, ahead));
    await this.port.put([...fresh, ...toMove]);
    for (const { name, file } of known) if (fs.existsSync(file)) this.port.adopt(name, file);
    for (const name of plainToo) await this.port.remove(name);
  }

  /** The redaction itself is recorded by then. */
  private refuseToRedactWhenMoved(sha256: string): void {
    if (!this.isMoved()) return;
    throw new AppError(
      'CONFLICT',
      `the evidence was moved elsewhere meanwhile: start the program again, and the next check removes the bytes of ${sha256}`,
    );
  }

  private async foundOf(
    received: readonly ReceivedFile[],
    ahead: FoundAhead = new Map(),
  ): Promise<Map<string, number | undefined>> {
    const names = [...new Set(received.map(({ sha256 }) => sha256))]
      .flatMap((sha256) => [sha256, tombstoneOf(sha256)])
      .flatMap((name) => [apart(name), name]);
    const sizes = await this.port.sizesOf(names.filter((name) => !ahead.has(name)));
    return new Map(names.map((name) => [name, ahead.has(name) ? ahead.get(name) : sizes.get(name)]));
  }

  private async sorted(received: readonly ReceivedFile[], sizes: FoundAhead) {
    const files = new Map(received.map((one) => [one.sha256, one]));
    // The same bytes may come under two names: kept apart once, they lie nowhere else.
    const secret = new Set(received.filter((one) => one.personalData).map((one) => one.sha256));
    const fresh: { name: string; file: string; bytes: number }[] = [];
    const toMove: FinishedFile[] = [];
    const known: FinishedFile[] = [];
    const plainToo: string[] = [];
    for (const { sha256, bytes, path: file } of files.values()) {
      const there = locatedIn(sizes, sha256);
      if (locatedIn(sizes, tombstoneOf(sha256)).bytes !== undefined) continue;
      if (there.bytes !== undefined && there.bytes !== bytes) {
        throw new AppError('ALTERED', `evidence ${sha256} was altered: its length changed`, { sha256 });
      }
      const name = secret.has(sha256) ? apart(sha256) : there.name;
      // Both may be there, when one that was to be set apart could not be removed.
      if (name !== sha256 && sizes.get(sha256) !== undefined) plainToo.push(sha256);
      if (there.bytes === undefined) fresh.push({ name, file, bytes });
      else if (name === there.name) known.push({ name, file });
      else toMove.push({ name, file: fs.existsSync(file) ? file : ((await this.port.get(sha256)) ?? file) });
    }
    return { fresh, toMove, known, plainToo };
  }

  /** Copies a file in at once. @throws as `receive` and `keepAll`. */
  async keep(source: string | Uint8Array, options: { personalData?: boolean } = {}): Promise<KeptFile> {
    const received = await this.receive(source, options);
    try {
      await this.keepAll([received]);
      return { sha256: received.sha256, bytes: received.bytes };
    } finally {
      received.drop();
    }
  }

  /** SHA-256 names of all files kept. */
  async list(): Promise<string[]> {
    const names = await this.port.list();
    return names
      .filter((name) => !name.endsWith(REDACTED))
      .map((name) => path.posix.basename(name))
      .sort();
  }

  /** SHA-256 names of all files of which only a tombstone is left. */
  async redacted(): Promise<string[]> {
    const names = await this.port.list();
    return names.filter((name) => name.endsWith(REDACTED)).map((name) => path.posix.basename(name, REDACTED));
  }

  /** @throws AppError ALTERED when the bytes are no longer those that were received, NOT_FOUND when they were redacted. */
  async verify(sha256: string): Promise<void> {
    const tombstone = await this.tombstone(sha256);
    if (tombstone) {
      const by = tombstone.persons.join(' and ');
      throw new AppError(
        'NOT_FOUND',
        `the bytes of evidence ${sha256} were removed on ${tombstone.redactedAt} by ${by}`,
      );
    }
    const { path: found } = await this.placed(sha256, 'bytes');
    const fault = found === undefined ? missing : await faultOfFile(found, sha256);
    if (fault !== undefined)
      throw new AppError('ALTERED', `evidence ${sha256} ${fault.code}`, { sha256, ...fault.facts });
  }

  /** What is wrong with a file where it lies, or undefined. */
  async faultOf(sha256: string): Promise<FileFault | undefined> {
    const { name, bytes } = await this.locate(sha256);
    return bytes === undefined ? missing : this.port.faultOf(name, sha256);
  }

  /** Whether a network lies between. */
  get isFar(): boolean {
    return this.port.isFar;
  }

  /** @throws when nothing could be kept now, with why. */
  reach(): Promise<void> {
    return this.port.reach();
  }

  /** What a redaction left behind, or undefined when there was none. */
  async tombstone(sha256: string): Promise<Tombstone | undefined> {
    const { path: file } = await this.placed(sha256, 'tombstone');
    return file === undefined ? undefined : Tombstone.parse(JSON.parse(fs.readFileSync(file, 'utf8')));
  }

  /**
   * Removes the bytes of a file for good, wherever they lie, and leaves a tombstone. Doing it again changes nothing.
   * @throws AppError CONFLICT when the evidence was moved away before all of it was done.
   */
  async redact(tombstone: Tombstone): Promise<void> {
    const { sha256 } = tombstone;
    this.refuseToRedactWhenMoved(sha256);
    if (!(await this.tombstone(sha256))) {
      const name = (await this.liesApart(sha256)) ? apart(sha256) : sha256;
      const file = path.join(this.incoming, randomUUID());
      fs.writeFileSync(file, `${JSON.stringify(tombstone)}\n`, { mode: 0o444, flush: true });
      await this.port.put([{ name: tombstoneOf(name), file }]);
    }
    const removed = await Promise.allSettled([apart(sha256), sha256].map((name) => this.port.remove(name)));
    for (const one of removed) if (one.status === 'rejected') throw one.reason;
    this.refuseToRedactWhenMoved(sha256);
  }
}

const sizeOf = (file: string): number | undefined => fs.statSync(file, { throwIfNoEntry: false })?.size;

/** A process that was killed leaves its half copy behind. */
function sweep(incoming: string): void {
  for (const name of fs.readdirSync(incoming)) {
    const file = path.join(incoming, name);
    const found = fs.statSync(file, { throwIfNoEntry: false });
    if (found !== undefined && Date.now() - found.mtimeMs > LEFT_BEHIND_MS) fs.rmSync(file, { force: true });
  }
}
