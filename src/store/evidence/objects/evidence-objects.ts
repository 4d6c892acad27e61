import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { isAbsent, type Refusal } from '../../../base/object-store-trouble.js';
import type { FileFault } from '../../../ledger/stored-fault.js';
import type { EvidencePort, FinishedFile } from '../evidence-port.js';
import { faultOfFile, hashOfFile } from '../file-fault.js';
import { eachAtOnce } from './at-once.js';
import { CopiesHere } from './copies-here.js';
import { dropLeftUploads, dropUploadsOf, PART_BYTES, putInParts } from './multipart.js';
import { allIn, readAnswer, textIn } from './object-answers.js';
import { type ClientOptions, ObjectClient } from './object-client.js';
import type { ObjectPlace } from './object-place.js';

const DAY_MS = 24 * 3_600_000;
const AT_ONCE = 8;
/** Room for copies on this machine. */
const MOST_COPIED_BYTES = 16 * 1024 ** 3;
/** Beside each object, for whoever looks at it without this program. */
const SHA256 = 'x-amz-meta-sha256';
const EVIDENCE_NAME = /^(?:personal\/)?[0-9a-f]{64}(?:\.[a-z]+)?$/;
/** A name without ending says what its bytes hash to. */
const HASH_NAME = /(?:^|\/)([0-9a-f]{64})$/;

/**
 * Evidence in an object store, by the S3 protocol: each file is put once under its name, with its SHA-256, and never over
 * another. What is read comes as a copy to this machine, and is held against the name before anybody sees it.
 */
export class EvidenceObjects implements EvidencePort {
  readonly isFar = true;
  private readonly client: ObjectClient;
  private readonly copies: CopiesHere;
  /** One fetch of a name at a time. */
  private readonly coming = new Map<string, Promise<string | undefined>>();

  /** @param folder of this machine, for copies and for what is under way. */
  constructor(
    private readonly place: ObjectPlace,
    private readonly folder: string,
    options: ClientOptions & { readonly mostCopiedBytes?: number } = {},
  ) {
    fs.mkdirSync(path.join(folder, 'incoming'), { recursive: true, mode: 0o700 });
    this.client = new ObjectClient(place, options);
    this.copies = new CopiesHere(path.join(folder, 'copies'), options.mostCopiedBytes ?? MOST_COPIED_BYTES);
  }

  async put(files: readonly FinishedFile[]): Promise<void> {
    const isLong = ({ file }: FinishedFile) => fs.statSync(file).size > PART_BYTES;
    const [long, short] = [files.filter(isLong), files.filter((one) => !isLong(one))];
    const putAndAdopt = async ({ name, file }: FinishedFile) => {
      await this.putOne(name, file);
      this.adopt(name, file);
    };
    await eachAtOnce(short, AT_ONCE, putAndAdopt);
    // Each goes in parts, some at a time.
    await eachAtOnce(long, 1, putAndAdopt);
  }

  /** The next who reads it is this machine: a log is scanned, a sheet read. */
  adopt(name: string, file: string): void {
    if (this.copies.find(name) === file) return;
    if (HASH_NAME.test(name)) this.copies.take(name, file);
    else fs.rmSync(file, { force: true });
  }

  /**
   * Puts a file and leaves it where it is.
   * @throws AppError STORAGE when it cannot be put, ALTERED when other bytes are there under its name.
   */
  async putOne(name: string, file: string): Promise<void> {
    const { size } = fs.statSync(file);
    const sha256 = await hashOfFile(file);
    this.checkName(name, sha256);
    const key = this.keyOf(name);
    const headers = { [SHA256]: sha256, ...this.lock(name) };
    const outcome =
      size <= PART_BYTES
        ? await this.putWhole(key, fs.readFileSync(file), sha256, headers)
        : (await this.headOf(name)) === undefined && (await putInParts(this.client, key, file, headers));
    // The server hashed what it took: there is nothing more to ask.
    if (outcome === 'as sent') return;
    const there = await this.headOf(name);
    const isOurs = there?.size === size && (there.sha256 === '' || there.sha256 === sha256);
    if (isOurs || (!outcome && there !== undefined && !HASH_NAME.test(name))) return;
    if (there === undefined) throw this.client.error('STORAGE', `took ${name} and has it no more`);
    throw this.client.error(
      'ALTERED',
      `has other bytes under ${name}: look who put them there, and at an earlier version of the object`,
      { sha256 },
    );
  }

  /** Bytes are hashed on the way out of this machine, by the server, and here again against what it answers. */
  private async putWhole(
    key: string,
    body: Uint8Array<ArrayBuffer>,
    sha256: string,
    headers: Readonly<Record<string, string>>,
  ): Promise<boolean | 'as sent'> {
    const checksum = Buffer.from(sha256, 'hex').toString('base64');
    const answer = await this.client.ask(
      { method: 'PUT', key, body, headers: { ...headers, 'x-amz-checksum-sha256': checksum, 'if-none-match': '*' } },
      ({ status }) => status === 412,
    );
    const told = answer.headers.get('x-amz-checksum-sha256');
    if (answer.refusal === undefined && told !== null && told !== checksum) {
      throw this.client.error('STORAGE', `says that it took other bytes than were sent as ${key}`);
    }
    return answer.refusal === undefined && (told === null || 'as sent');
  }

  /** What names patients stays removable at once. */
  private lock(name: string): Record<string, string> {
    const { lockDays } = this.place;
    if (lockDays === undefined || name.startsWith('personal/')) return {};
    const until = new Date(Date.now() + lockDays * DAY_MS).toISOString();
    return { 'x-amz-object-lock-mode': 'GOVERNANCE', 'x-amz-object-lock-retain-until-date': until };
  }

  async get(name: string): Promise<string | undefined> {
    let coming = this.coming.get(name);
    if (coming === undefined) {
      coming = this.copyOf(name).finally(() => this.coming.delete(name));
      this.coming.set(name, coming);
    }
    const found = await coming;
    if (found !== undefined) this.copies.handOut(name);
    return found;
  }

  here(name: string): string | undefined {
    return this.copies.find(name);
  }

  private async copyOf(name: string): Promise<string | undefined> {
    const here = this.copies.find(name);
    const sha256 = HASH_NAME.exec(name)?.[1];
    if (here !== undefined && sha256 !== undefined) {
      const isAsHashed = this.copies.isAsHashed(name);
      // Before it is hashed, which may take long: another process may be about to let go of it.
      this.copies.touch(name);
      if (isAsHashed || (await faultOfFile(here, sha256)) === undefined) {
        this.copies.use(name);
        return here;
      }
      // What somebody did to the copy is not in the store.
      this.copies.letGo(name);
    }
    const file = path.join(this.folder, 'incoming', randomUUID());
    try {
      const found = await this.fetch(name, file);
      if (found === undefined) return undefined;
      this.checkName(name, found);
      return this.copies.take(name, file);
    } finally {
      fs.rmSync(file, { force: true });
    }
  }

  /** @returns the SHA-256 of what came. */
  private async fetch(name: string, file: string): Promise<string | undefined> {
    const hash = createHash('sha256');
    const target = await fs.promises.open(file, 'wx', 0o444);
    try {
      const bytes = await this.client.read(this.keyOf(name), async (piece) => {
        hash.update(piece);
        await target.writeFile(piece);
      });
      return bytes === undefined ? undefined : hash.digest('hex');
    } finally {
      await target.close();
    }
  }

  /** @throws AppError ALTERED for bytes that are not those of their name. */
  private checkName(name: string, found: string): void {
    const [, sha256 = found] = HASH_NAME.exec(name) ?? [];
    if (found === sha256) return;
    throw this.client.error('ALTERED', `was to hold ${sha256} and holds bytes that hash to ${found}`, {
      sha256,
    });
  }

  async sizesOf(names: readonly string[]): Promise<Map<string, number>> {
    const sizes = new Map<string, number>();
    await eachAtOnce(names, AT_ONCE, async (name) => {
      const head = await this.headOf(name);
      if (head !== undefined) sizes.set(name, head.size);
      // What is gone there, by another machine too, is not shown from a copy.
      else this.copies.letGo(name);
    });
    return sizes;
  }

  async faultOf(name: string, sha256: string): Promise<FileFault | undefined> {
    const hash = createHash('sha256');
    const bytes = await this.client.read(this.keyOf(name), (piece) => {
      hash.update(piece);
    });
    if (bytes === undefined) return { code: 'is missing' };
    return hash.digest('hex') === sha256 ? undefined : { code: 'was altered' };
  }

  async list(): Promise<string[]> {
    const { prefix } = this.place;
    const names: string[] = [];
    let after: Record<string, string> = {};
    for (;;) {
      const { body } = await this.client.ask({ method: 'GET', query: { 'list-type': '2', prefix, ...after } });
      const answer = readAnswer(body, 'ListBucketResult');
      for (const item of allIn(answer, 'Contents')) names.push(textIn(item, 'Key').slice(prefix.length));
      if (textIn(answer, 'IsTruncated') !== 'true') break;
      after = { 'continuation-token': textIn(answer, 'NextContinuationToken') };
    }
    await dropLeftUploads(this.client, prefix);
    return names.filter((name) => EVIDENCE_NAME.test(name)).sort();
  }

  /** Where a bucket keeps earlier versions of an object, each of them goes. */
  async remove(name: string): Promise<void> {
    this.copies.letGo(name);
    const key = this.keyOf(name);
    await dropUploadsOf(this.client, key);
    for (const version of await this.versionsOf(key)) {
      await this.client.ask(
        {
          ...{ method: 'DELETE', key, query: version === '' ? {} : { versionId: version } },
          // Whoever may do so removes what is locked: two people asked for it.
          headers: version === '' ? {} : { 'x-amz-bypass-governance-retention': 'true' },
        },
        isAbsent,
      );
    }
    if ((await this.headOf(name)) !== undefined || (await this.versionsOf(key)).some((version) => version !== '')) {
      throw this.client.error('STORAGE', `still has bytes of ${name} after they were removed`);
    }
  }

  /** Every version, and the marks of those that were removed; an empty one where the server keeps no versions. */
  private async versionsOf(key: string): Promise<string[]> {
    const found: string[] = [];
    let after: Record<string, string> = {};
    for (;;) {
      const { body, refusal } = await this.client.ask(
        { method: 'GET', query: { versions: '', prefix: key, ...after } },
        ({ status, code }) => status === 501 || code === 'NotImplemented',
      );
      if (refusal !== undefined) return [''];
      const answer = readAnswer(body, 'ListVersionsResult');
      for (const item of [...allIn(answer, 'Version'), ...allIn(answer, 'DeleteMarker')]) {
        if (textIn(item, 'Key') === key) found.push(textIn(item, 'VersionId') || 'null');
      }
      if (textIn(answer, 'IsTruncated') !== 'true') return found;
      after = {
        'key-marker': textIn(answer, 'NextKeyMarker'),
        'version-id-marker': textIn(answer, 'NextVersionIdMarker'),
      };
    }
  }

  letGo(name: string): void {
    this.copies.letGoUnlessShared(name);
  }

  async reach(): Promise<void> {
    await this.client.ask({ method: 'GET', query: { 'list-type': '2', prefix: this.place.prefix, 'max-keys': '1' } });
  }

  /** What is there under a name, without its bytes. An answer without them says not why it refuses, so that is asked for. */
  private async headOf(name: string): Promise<{ size: number; sha256: string } | undefined> {
    const worded = (refusal: Refusal) => refusal.code === '' && [400, 403].includes(refusal.status);
    const { headers, refusal } = await this.client.ask(
      { method: 'HEAD', key: this.keyOf(name) },
      (one) => isAbsent(one) || worded(one),
    );
    if (refusal === undefined) {
      return { size: Number(headers.get('content-length')), sha256: headers.get(SHA256) ?? '' };
    }
    if (!isAbsent(refusal)) {
      await this.reach();
      throw this.client.error('STORAGE', `does not let these credentials see ${name}`);
    }
    return undefined;
  }

  private keyOf(name: string): string {
    return `${this.place.prefix}${name}`;
  }
}
