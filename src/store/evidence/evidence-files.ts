import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { z } from 'zod';
import { AppError, NotFoundError } from '../../base/errors.js';
import type { FileFault } from '../../ledger/stored-fault.js';
import { EvidenceFolder } from './evidence-folder.js';
import type { EvidencePort } from './evidence-port.js';
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
}

const READ_SIZE = 1 << 18;
/** Copies that were begun this long ago belong to nobody any more. */
const LEFT_BEHIND_MS = 24 * 3_600_000;
/** Ending of the tombstone of a file. */
const REDACTED = '.redacted';

/** Evidence flagged as personal data lies apart from the others. */
const apart = (name: string): string => `personal/${name}`;

/**
 * Files as received, each named by the SHA-256 of its bytes. A file is copied to this machine under a temporary name,
 * hashed on the way and synced, before it is handed to where evidence lies: a crash leaves no half file under a hash. Of a
 * redacted file a tombstone is left.
 */
export class EvidenceFiles {
  /** @param incoming folder of this machine for copies that are under way. */
  constructor(
    private readonly port: EvidencePort,
    private readonly incoming: string,
  ) {
    fs.mkdirSync(incoming, { recursive: true });
    sweep(incoming);
  }

  static inFolder(folder: string): EvidenceFiles {
    return new EvidenceFiles(new EvidenceFolder(folder), path.join(folder, 'incoming'));
  }

  /** Where a file can be read. @throws NotFoundError when it is not there. */
  async pathOf(sha256: string): Promise<string> {
    const found = await this.find(sha256);
    if (found === undefined) throw new NotFoundError('evidence', sha256);
    return found;
  }

  /** What is kept of a file that was received: its bytes, or the tombstone of one that was redacted. */
  placed(sha256: string, what: 'bytes' | 'tombstone'): Promise<PlacedFile> {
    return this.locate(what === 'bytes' ? sha256 : `${sha256}${REDACTED}`);
  }

  private async locate(name: string): Promise<PlacedFile> {
    const secret = await this.port.get(apart(name));
    return secret === undefined ? { name, path: await this.port.get(name) } : { name: apart(name), path: secret };
  }

  private async find(name: string): Promise<string | undefined> {
    return (await this.locate(name)).path;
  }

  /** Whether a file lies apart because it was flagged as personal data: pages and packages leave it out. */
  async liesApart(sha256: string): Promise<boolean> {
    return (await this.port.get(apart(sha256))) !== undefined;
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
          ? await copyFile(source, copy, options.name ?? source)
          : await writeAndHash(copy, [source]);
      const received = { ...kept, personalData: options.personalData === true, drop };
      const known = await this.find(kept.sha256);
      if (known === undefined || sizeOf(known) !== kept.bytes) return { ...received, path: copy };
      // A folder that is taken in again must not need its room twice.
      drop();
      return { ...received, path: known };
    } catch (error) {
      drop();
      throw error;
    }
  }

  /** Makes evidence of copies; it lasts when it resolves. @throws AppError ALTERED when other bytes lie under the name. */
  async keepAll(received: readonly ReceivedFile[]): Promise<void> {
    const fresh: { name: string; file: string }[] = [];
    const moved: string[] = [];
    // The same bytes may come under two names: kept apart once, they lie nowhere else.
    const secret = new Set(received.filter((one) => one.personalData).map((one) => one.sha256));
    for (const { sha256, bytes, path: file } of received) {
      const personalData = secret.has(sha256);
      if (await this.tombstone(sha256)) continue;
      const known = await this.find(sha256);
      if (known !== undefined && sizeOf(known) !== bytes) {
        throw new AppError('ALTERED', `evidence ${sha256} was altered: its length changed`, { sha256 });
      }
      if (known === undefined) fresh.push({ name: personalData ? apart(sha256) : sha256, file });
      else if (personalData && !(await this.liesApart(sha256))) {
        fresh.push({ name: apart(sha256), file: known });
        moved.push(sha256);
      }
    }
    await this.port.put(fresh);
    for (const name of moved) await this.port.remove(name);
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
    const fault = await this.faultOf(sha256);
    if (fault !== undefined)
      throw new AppError('ALTERED', `evidence ${sha256} ${fault.code}`, { sha256, ...fault.facts });
  }

  /** What is wrong with a file that should be here, or undefined. */
  async faultOf(sha256: string): Promise<FileFault | undefined> {
    const found = await this.find(sha256);
    return found === undefined ? { code: 'is missing' } : faultOfFile(found, sha256);
  }

  /** What a redaction left behind, or undefined when there was none. */
  async tombstone(sha256: string): Promise<Tombstone | undefined> {
    const file = await this.find(`${sha256}${REDACTED}`);
    return file === undefined ? undefined : Tombstone.parse(JSON.parse(fs.readFileSync(file, 'utf8')));
  }

  /** Removes the bytes of a file for good and leaves a tombstone. Doing it again changes nothing. */
  async redact(tombstone: Tombstone): Promise<void> {
    const { sha256 } = tombstone;
    const name = (await this.liesApart(sha256)) ? apart(sha256) : sha256;
    if (!(await this.tombstone(sha256))) {
      const file = path.join(this.incoming, randomUUID());
      fs.writeFileSync(file, `${JSON.stringify(tombstone)}\n`, { mode: 0o444, flush: true });
      await this.port.put([{ name: `${name}${REDACTED}`, file }]);
    }
    await this.port.remove(name);
  }
}

const sizeOf = (file: string): number | undefined => fs.statSync(file, { throwIfNoEntry: false })?.size;

/** What is wrong with a file that must have this SHA-256, or undefined. Memory does not grow with the file. */
export async function faultOfFile(file: string, sha256: string): Promise<FileFault | undefined> {
  const hash = createHash('sha256');
  try {
    for await (const chunk of fs.createReadStream(file, { highWaterMark: READ_SIZE })) hash.update(chunk as Buffer);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    return code === 'ENOENT' ? { code: 'is missing' } : { code: 'cannot be read', facts: { error: String(code) } };
  }
  return hash.digest('hex') === sha256 ? undefined : { code: 'was altered' };
}

/** A process that was killed leaves its half copy behind. */
function sweep(incoming: string): void {
  for (const name of fs.readdirSync(incoming)) {
    const file = path.join(incoming, name);
    const found = fs.statSync(file, { throwIfNoEntry: false });
    if (found !== undefined && Date.now() - found.mtimeMs > LEFT_BEHIND_MS) fs.rmSync(file, { force: true });
  }
}
