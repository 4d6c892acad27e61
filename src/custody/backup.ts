import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { FileFault } from '../ledger/stored-fault.js';
import { fileFaultText } from '../report/phrases/stored-faults.js';
import { syncFolder } from '../store/evidence/plain-file.js';
import type { Store } from '../store/store.js';
import { ArchiveWriter } from './archive.js';
import { evidencePath, MANIFEST_NAME, type Manifest, manifestText } from './manifest.js';
import { redactionsThatHold } from './redactions.js';

const COPY = 'backup-';
const LEFT_BEHIND_MS = 24 * 3_600_000;

export interface BackupResult {
  readonly file: string;
  /** SHA-256 of the list of files in the backup: noted in the audit trail, and worth keeping outside. */
  readonly manifestSha256: string;
  readonly files: number;
  readonly bytes: number;
  readonly withKeys: boolean;
  readonly ledgerSize: number;
  /** Files that are no longer as received. They are in the backup as they were found. */
  readonly damaged: Manifest['damaged'];
}

/** A file on its way into a backup, and the hash that it must have where something vouches for it. */
interface FileToCopy {
  /** In the backup, and in the data folder where no `source` is said. */
  readonly path: string;
  readonly source?: string | undefined;
  /** How much of it; all where this is not said. */
  readonly bytes?: number;
  readonly expected?: string;
  /** Lets go of it where it was fetched. */
  readonly done?: () => void;
  /** Known before it was copied: then there is nothing to copy. */
  readonly fault?: FileFault;
}

/**
 * Writes everything that a data folder holds into one archive, while others go on working: the database as it was at
 * one moment, every evidence file and every record that it names, and the keys when asked for. The archive appears
 * under its name only when it is complete and on the disk.
 * @throws AppError CONFLICT when the file exists, or would lie in the folder that it is to save.
 */
export async function makeBackup(
  store: Store,
  file: string,
  actor: string,
  options: { withKeys: boolean },
): Promise<BackupResult> {
  const target = checkedTarget(store, file);
  const temporary = `${target}.${randomUUID()}.part`;
  sweep(store.folder.path);
  const database = path.join(store.folder.path, `${COPY}${randomUUID()}.sqlite`);
  try {
    const ledgerSize = await store.copyDatabase(database);
    const manifest = await writeArchive(store, { temporary, database, ledgerSize, withKeys: options.withKeys });
    // A link, unlike a renaming, never replaces what somebody put there meanwhile.
    fs.linkSync(temporary, target);
    syncFolder(path.dirname(target));
    const result: BackupResult = {
      file: target,
      manifestSha256: sha256Hex(manifestText(manifest)),
      files: manifest.files.length,
      bytes: manifest.files.reduce((sum, item) => sum + item.bytes, 0),
      withKeys: options.withKeys,
      ledgerSize,
      damaged: manifest.damaged,
    };
    const { damaged, ...counts } = result;
    await store.change(actor, (change) =>
      change.events.add({ type: 'backup-made', ...counts, file: path.basename(target), damaged: damaged.length }),
    );
    return result;
  } finally {
    fs.rmSync(temporary, { force: true });
    fs.rmSync(database, { force: true });
  }
}

/** Copies of the database that killed backups left; a backup that runs is younger. */
function sweep(folder: string): void {
  for (const name of fs.readdirSync(folder).filter((item) => item.startsWith(COPY))) {
    const file = path.join(folder, name);
    if (Date.now() - fs.statSync(file).mtimeMs > LEFT_BEHIND_MS) fs.rmSync(file, { force: true });
  }
}

function checkedTarget(store: Store, file: string): string {
  const target = path.resolve(file);
  const folder = path.dirname(target);
  if (fs.existsSync(target)) {
    throw new AppError('CONFLICT', `${target} exists; a backup never replaces a file, name another`);
  }
  if (!fs.existsSync(folder)) {
    throw new AppError('NOT_FOUND', `there is no folder ${folder}: is the disk for backups connected?`);
  }
  const inside = path.relative(fs.realpathSync(store.folder.path), fs.realpathSync(folder));
  if (inside === '' || !(inside.startsWith('..') || path.isAbsolute(inside))) {
    throw new AppError(
      'CONFLICT',
      `${target} lies in the data folder and would be lost with it; name a file elsewhere`,
    );
  }
  return target;
}

async function writeArchive(
  store: Store,
  {
    temporary,
    database,
    ledgerSize,
    withKeys,
  }: {
    temporary: string;
    database: string;
    ledgerSize: number;
    withKeys: boolean;
  },
): Promise<Manifest> {
  const archive = new ArchiveWriter(temporary);
  const files: Manifest['files'] = [];
  const damaged: Manifest['damaged'] = [];
  try {
    files.push(await archive.addFile(database, 'lotwright.sqlite'));
    for await (const one of filesToCopy(store, { withKeys, ledgerSize })) {
      const { path: name, expected, bytes, source = path.join(store.folder.path, name), done, fault } = one;
      if (fault !== undefined || !fs.existsSync(source)) {
        damaged.push({ path: name, says: fileFaultText(fault ?? { code: 'is missing' }) });
        continue;
      }
      const written = await archive.addFile(source, name, bytes);
      done?.();
      files.push(written);
      if (expected !== undefined && written.sha256 !== expected) {
        damaged.push({ path: name, says: fileFaultText({ code: 'was altered' }) });
      }
    }
    const manifest: Manifest = {
      format: 1,
      program: programName(),
      madeAt: store.clock.now().toISOString(),
      demo: store.folder.demo,
      withKeys,
      ledger: { size: ledgerSize, root: await store.read.ledger.root(ledgerSize) },
      files,
      damaged,
    };
    await archive.end(manifestText(manifest), MANIFEST_NAME);
    return manifest;
  } catch (error) {
    await archive.abandon();
    throw error;
  }
}

/** What the database names may have grown since it was copied; a file too many does no harm. */
async function* filesToCopy(
  store: Store,
  { withKeys, ledgerSize }: { withKeys: boolean; ledgerSize: number },
): AsyncGenerator<FileToCopy> {
  yield { path: 'folder.json' };
  const redacted = await redactionsThatHold(store.read);
  for (let last = ''; ; ) {
    const page = await store.read.evidence.page(last);
    if (page.length === 0) break;
    for (const { sha256 } of page) {
      const isRedacted = redacted.has(sha256);
      try {
        const { name, path: source, done } = await store.evidence.placed(sha256, isRedacted ? 'tombstone' : 'bytes');
        yield { path: evidencePath(name), source, done, ...(isRedacted ? {} : { expected: sha256 }) };
      } catch (error) {
        // An object store gave other bytes than were put there: they are not fetched.
        if (!(error instanceof AppError && error.code === 'ALTERED')) throw error;
        yield { path: evidencePath(sha256), fault: { code: 'was altered' } };
      }
    }
    last = page.at(-1)!.sha256;
  }
  for (const { number, revision, fileSha256 } of await store.read.records.all()) {
    yield { path: `records/${number}-r${revision}.pdf`, expected: fileSha256 };
  }
  // As far as the copied audit trail was told: what is younger is bound to a secret that no backup holds.
  for (const [file, heads] of await store.read.events.readsHeads()) {
    const bytes = heads.findLast(({ ledgerSeq }) => ledgerSeq <= ledgerSize)?.bytes;
    if (bytes !== undefined) yield { path: `reads/${file}`, bytes };
  }
  if (!withKeys) return;
  const keys = path.join(store.folder.path, 'keys');
  for (const name of ['installation.pem', 'seal.pem']) {
    if (fs.existsSync(path.join(keys, name))) yield { path: `keys/${name}` };
  }
}
