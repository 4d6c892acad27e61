import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import { AppError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { sha256Hex } from '../dossier/canonical.js';
import { folderFaultText } from '../report/phrases/stored-faults.js';
import { DataFolder } from '../store/data-folder.js';
import { syncFolder } from '../store/evidence/plain-file.js';
import { Store } from '../store/store.js';
import { type OpenArchive, openArchive } from './archive.js';
import { checkIntegrity, type IntegrityReport } from './integrity.js';
import { type BackupFile, MANIFEST_NAME, type Manifest, readManifest } from './manifest.js';

export interface RestoreResult {
  readonly folder: string;
  readonly manifestSha256: string;
  readonly madeAt: string;
  readonly files: number;
  /** Fingerprint of the key that the folder signs with. */
  readonly fingerprint: string;
  /** Whether the key is still to be put there, since the backup had none. Until then nothing can be signed. */
  readonly needsKey: boolean;
  readonly integrity: IntegrityReport;
}

/**
 * Unpacks a backup into an empty or absent folder. Every file is compared with the manifest while it is unpacked; then
 * the audit trail is recomputed and every file that it names is looked at, and only then does the folder become a data
 * folder. When anything is wrong nothing is left behind.
 * @param options.manifestSha256 what the backup said when it was made, when it was kept: a backup that somebody wrote
 * anew as a whole is then refused too.
 * @throws AppError ALTERED naming the file that differs, CONFLICT when the folder is not empty.
 */
export async function restoreBackup(
  file: string,
  folder: string,
  actor: string,
  options: { manifestSha256?: string } = {},
): Promise<RestoreResult> {
  if (!fs.existsSync(file)) throw new AppError('NOT_FOUND', `there is no file ${file}`);
  const target = path.resolve(folder);
  const existed = checkEmpty(target);
  fs.mkdirSync(target, { recursive: true, mode: 0o700 });
  const unpacked = path.join(target, `restoring-${randomUUID()}`);
  try {
    fs.mkdirSync(unpacked, { mode: 0o700 });
    const { manifest, manifestSha256 } = await unpack(file, unpacked, options.manifestSha256);
    const result = await verifyUnpacked(unpacked, actor, manifest, manifestSha256);
    moveIntoPlace(unpacked, target);
    return { folder: target, files: manifest.files.length, madeAt: manifest.madeAt, manifestSha256, ...result };
  } catch (error) {
    fs.rmSync(unpacked, { recursive: true, force: true });
    if (!existed) fs.rmdirSync(target);
    throw error;
  }
}

/** @returns whether the folder was there. */
function checkEmpty(target: string): boolean {
  if (!fs.existsSync(target)) return false;
  const names = fs.readdirSync(target);
  if (names.length === 0) return true;
  const interrupted = names.every((name) => name.startsWith('restoring-'));
  throw new AppError(
    'CONFLICT',
    interrupted
      ? `${target} holds what an interrupted restore left (${names.join(', ')}); remove it and restore again`
      : `${target} is not empty: a backup is restored into an empty folder only, so that nothing is ever overwritten`,
  );
}

async function unpack(
  file: string,
  folder: string,
  expectedManifest: string | undefined,
): Promise<{ manifest: Manifest; manifestSha256: string }> {
  const archive = await openArchive(file);
  try {
    const text = await manifestOf(archive, file);
    const manifestSha256 = sha256Hex(text);
    if (expectedManifest !== undefined && expectedManifest !== manifestSha256) {
      throw new AppError('ALTERED', `the manifest of ${file} is ${manifestSha256}, not ${expectedManifest}`, {
        file: MANIFEST_NAME,
      });
    }
    const manifest = readManifest(text);
    compareNames(archive, manifest);
    for (const item of manifest.files) await unpackFile(archive, item, path.join(folder, item.path));
    return { manifest, manifestSha256 };
  } finally {
    archive.close();
  }
}

async function manifestOf(archive: OpenArchive, file: string): Promise<string> {
  const bytes = archive.sizes.get(MANIFEST_NAME);
  if (bytes === undefined || bytes > MOST.manifestBytes) {
    throw new AppError('ALTERED', `${file} is no backup of this program: its ${MANIFEST_NAME} is missing or too large`);
  }
  const chunks: Buffer[] = [];
  for await (const chunk of await archive.read(MANIFEST_NAME)) chunks.push(chunk);
  return Buffer.concat(chunks).toString('utf8');
}

/** The archive must hold exactly what the manifest lists, each file with the size that it says. */
function compareNames(archive: OpenArchive, manifest: Manifest): void {
  const listed = new Map(manifest.files.map((item) => [item.path, item.bytes]));
  for (const [name, bytes] of archive.sizes) {
    if (name === MANIFEST_NAME) continue;
    if (!listed.has(name)) throw altered(name, 'is not listed in the manifest');
    if (listed.get(name) !== bytes)
      throw altered(name, `has ${bytes} bytes, and the manifest says ${listed.get(name)}`);
  }
  for (const name of listed.keys()) if (!archive.sizes.has(name)) throw altered(name, 'is missing');
}

const altered = (file: string, says: string): AppError =>
  new AppError('ALTERED', `the backup was altered: ${file} ${says}`, { file });

async function unpackFile(archive: OpenArchive, item: BackupFile, target: string): Promise<void> {
  fs.mkdirSync(path.dirname(target), { recursive: true, mode: 0o700 });
  const hash = createHash('sha256');
  const mode = item.path.startsWith('evidence/') ? 0o444 : 0o600;
  try {
    await pipeline(
      await archive.read(item.path),
      async function* (chunks: AsyncIterable<Buffer>) {
        for await (const chunk of chunks) {
          hash.update(chunk);
          yield chunk;
        }
      },
      fs.createWriteStream(target, { flags: 'wx', mode, flush: true }),
    );
  } catch (error) {
    // A system error is about the disk here; any other is about the archive.
    if ((error as NodeJS.ErrnoException).syscall !== undefined) throw error;
    throw altered(item.path, `cannot be unpacked (${(error as Error).message})`);
  }
  if (hash.digest('hex') !== item.sha256) throw altered(item.path, 'has another SHA-256 than the manifest says');
}

async function verifyUnpacked(
  folder: string,
  actor: string,
  manifest: Manifest,
  manifestSha256: string,
): Promise<Pick<RestoreResult, 'fingerprint' | 'needsKey' | 'integrity'>> {
  // What was unpacked lies in the folder: the server and the object store that it once had go on without it.
  const data = DataFolder.open(folder).with({ store: undefined, evidence: undefined });
  const store = await Store.open(data, undefined, { anchored: false });
  try {
    const { size, root } = manifest.ledger;
    const event = { manifestSha256, madeAt: manifest.madeAt, ledgerSize: size, withKeys: manifest.withKeys };
    // To restore is a deliberate act: from here on the folder is held against what the backup holds.
    await store.anchorAnew({ ...event, actor });
    if ((await store.read.ledger.size()) < size || (await store.read.ledger.root(size)) !== root) {
      throw altered('lotwright.sqlite', 'holds another audit trail than the manifest says');
    }
    const integrity = await checkIntegrity(store);
    const known = new Set(manifest.damaged.map((item) => path.posix.basename(item.path)));
    // A witness may have seen more than a backup holds: the next check says so, until two people accept it.
    const fault = integrity.faults.find((item) => item.what !== 'witness' && !known.has(item.name));
    if (fault) throw altered(fault.name, `${folderFaultText(fault.fault)} (${fault.what})`);
    const { isHeld, fingerprint } = store.key;
    await store.nameRestore();
    return { fingerprint, needsKey: !isHeld, integrity };
  } finally {
    await store.close();
  }
}

/** `folder.json` makes a folder a data folder, so it comes last: an interrupted move is seen by its absence. */
function moveIntoPlace(unpacked: string, target: string): void {
  const marker = 'folder.json';
  const others = fs.readdirSync(unpacked).filter((name) => name !== marker);
  for (const name of [...others, marker]) fs.renameSync(path.join(unpacked, name), path.join(target, name));
  fs.rmdirSync(unpacked);
  syncFolder(target);
}
