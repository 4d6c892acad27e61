import fs from 'node:fs';
import path from 'node:path';
import { explained } from '../base/disk-trouble.js';
import { AppError } from '../base/errors.js';
import type { FileFault, StoredFault } from '../ledger/stored-fault.js';
import { KeptLots } from '../lots/kept-lots.js';
import { LINE_VIEW } from '../lots/line-view.js';
import { type FolderFault, folderFaultText } from '../report/phrases/stored-faults.js';
import { SIGNATURES_VIEW } from '../signing/signatures-view.js';
import { AnchorFile } from '../store/anchor-file.js';
import { ENGINE } from '../store/chosen-engine.js';
import type { DataFolder } from '../store/data-folder.js';
import { faultOfFile } from '../store/evidence/file-fault.js';
import { KeptFiles } from '../store/kept-files.js';
import type { LedgerReport } from '../store/ledger-report.js';
import { Store } from '../store/store.js';
import { redactionsThatHold } from './redactions.js';
import { stampOfTheDay, witnessFaults } from './witnesses.js';

/** Something that is not as it was stored, named so that it can be found in a backup. */
export interface IntegrityFault {
  /** Kind of the thing: database, audit trail, witness, evidence, record, archive, or a kind of stored row. */
  readonly what: string;
  /** Key of the thing: SHA-256 of an evidence file, file name of a record, code of a lot. */
  readonly name: string;
  readonly fault: FolderFault;
}

export interface IntegrityReport {
  /** Evidence files, records and archives of raw rows that were read. */
  readonly files: number;
  readonly bytes: number;
  /** Files in the evidence folder that nothing names: what an interrupted intake left. Never removed by itself. */
  readonly unreferenced: readonly string[];
  readonly faults: readonly IntegrityFault[];
}

/** An event names so many faults; the count tells of the others. */
const FAULTS_IN_EVENT = 50;

/**
 * Looks at everything that a data folder holds: the file of the database, the audit trail, every evidence file,
 * every record, every archive of raw rows, and what is kept of lots. Reads each file once; memory does not grow with their size.
 */
export async function checkIntegrity(store: Store): Promise<IntegrityReport> {
  const faults = await ledgerFaults(() => store.verifyLedger());
  /** What damage makes impossible to look at is a fault, and the other things are looked at all the same. */
  const looked = async <T extends Checked>(what: string, look: () => Promise<T>): Promise<T | typeof NOTHING> => {
    try {
      const found = await look();
      faults.push(...found.faults);
      return found;
    } catch (error) {
      if (isPassing(error)) throw error;
      const { message } = explained(error) as Error;
      faults.push({ what, name: 'all', fault: { code: 'not looked at', facts: { message } } });
      return NOTHING;
    }
  };
  await looked('witness', async () => ({ ...NOTHING, faults: await witnessFaults(store) }));
  const evidence = await looked('evidence', () => checkEvidence(store));
  const records = await looked('record', () => checkRecords(store));
  const archives = await looked('archive', () => checkArchives(store));
  const reads = await looked('readings', () => checkReads(store));
  // It follows from the rest, and says no more than that where the rest is not as it was.
  if (faults.length === 0) await looked('kept-view', () => checkKept(store));
  return {
    files: evidence.files + records.files + archives.files + reads.files,
    bytes: evidence.bytes + records.bytes,
    unreferenced: evidence.unreferenced ?? [],
    faults,
  };
}

type Checked = Omit<IntegrityReport, 'unreferenced'> & { readonly unreferenced?: readonly string[] };
const NOTHING: Checked = { files: 0, bytes: 0, faults: [] };

/** Trouble that is not of what is stored: somebody else is at it, or the disk does not answer. */
const isPassing = (error: unknown): boolean => {
  const known = explained(error);
  return known instanceof AppError && (known.code === 'BUSY' || known.code === 'STORAGE');
};

/**
 * As `checkIntegrity`, with the time stamp of the day where an authority is configured; the result becomes an event, so
 * that the first screen can tell of it. Nothing is written into a
 * database that is damaged itself: that could damage it further.
 */
export async function checkIntegrityAndRecord(store: Store, actor: string): Promise<IntegrityReport> {
  const found = await checkIntegrity(store);
  const isStamped = !found.faults.some(({ what }) => what === 'database') && store.key.isHeld;
  const report = isStamped ? { ...found, faults: [...found.faults, ...(await stampOfTheDay(store, actor))] } : found;
  if (report.faults.some(({ what }) => what === 'database')) return withoutEvent(report, 'database damaged');
  try {
    await store.change(actor, (change) =>
      change.events.add({
        type: 'integrity-checked',
        files: report.files,
        bytes: report.bytes,
        unreferenced: report.unreferenced.length,
        faultCount: report.faults.length,
        faults: report.faults.slice(0, FAULTS_IN_EVENT).map(inWords),
      }),
    );
  } catch (error) {
    // A key that is lost or locked stops every act: that is a fault of the folder.
    if ((report.faults.length === 0 && store.key.isHeld) || isPassing(error)) throw error;
    return withoutEvent(report, { message: (explained(error) as Error).message });
  }
  return report;
}

/** As an event keeps a fault, and as people read it. */
export const inWords = ({ what, name, fault }: IntegrityFault) => ({ what, name, says: folderFaultText(fault) });

type NotNoted = Extract<FolderFault, { readonly code: 'check not noted' }>['facts']['why'];

const withoutEvent = (report: IntegrityReport, why: NotNoted): IntegrityReport => ({
  ...report,
  faults: [
    ...report.faults,
    { what: 'audit trail', name: 'this check', fault: { code: 'check not noted', facts: { why } } },
  ],
});

/**
 * As `checkIntegrityAndRecord` of a folder that may be too damaged to be opened: then its database is held against the
 * audit trail and its evidence is hashed all the same, and nothing is noted.
 * @throws AppError BUSY or STORAGE when somebody else is at it, or the disk does not answer.
 */
export async function checkFolder(folder: DataFolder, actor: string): Promise<IntegrityReport> {
  let store: Store;
  try {
    store = await Store.open(folder);
  } catch (error) {
    if (isPassing(error)) throw error;
    return checkClosed(folder, (explained(error) as Error).message);
  }
  try {
    return await checkIntegrityAndRecord(store, actor);
  } finally {
    await store.close();
  }
}

async function checkClosed(folder: DataFolder, message: string): Promise<IntegrityReport> {
  let files = 0;
  const faults = await ledgerFaults(async () => {
    const report = await ENGINE.auditFolder(folder, {
      files: new KeptFiles(folder),
      anchor: AnchorFile.beside(folder.path),
    });
    files = report.files ?? 0;
    return report;
  });
  const fault: FolderFault = { code: 'folder not opened', facts: { message } };
  const report = {
    files,
    bytes: 0,
    unreferenced: [],
    faults: [...faults, { what: 'database', name: 'folder', fault }],
  };
  return withoutEvent(report, 'folder not opened');
}

/** Chain, signed head, stored rows and guards, as `ledger verify` names what differs. */
async function ledgerFaults(verify: () => Promise<LedgerReport>): Promise<IntegrityFault[]> {
  try {
    const report = await verify();
    if (report.ok) return [];
    const ofTrail = (fault: StoredFault): FolderFault => ({ code: 'trail fault', facts: { fault } });
    if (report.faults.length === 0) {
      return [{ what: 'audit trail', name: `entry ${report.seq}`, fault: ofTrail(report.reason) }];
    }
    return report.faults.map(({ kind, key, fault }) => ({ what: kind, name: key, fault: ofTrail(fault) }));
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    const fault: FolderFault = { code: 'trail not looked at', facts: { message: error.message } };
    return [{ what: 'audit trail', name: 'all of it', fault }];
  }
}

/**
 * Every evidence file that the database names: there, with the bytes that were received. What was redacted must be
 * gone; a redaction that was interrupted is finished here.
 */
export async function checkEvidence(store: Store): Promise<IntegrityReport> {
  const redacted = await redactionsThatHold(store.read);
  const faults: IntegrityFault[] = [];
  const unreferenced = new Set(await store.evidence.list());
  let files = 0;
  let bytes = 0;
  for (let last = ''; ; ) {
    const page = await store.read.evidence.page(last);
    if (page.length === 0) break;
    for (const row of page) {
      unreferenced.delete(row.sha256);
      const removal = redacted.get(row.sha256);
      if (removal) {
        const { at: redactedAt, persons } = removal;
        await store.evidence.redact({ format: 1, sha256: row.sha256, redactedAt, persons });
        store.archives.remove(row.sha256);
        continue;
      }
      files += 1;
      bytes += row.bytes;
      const fault = await store.evidence.faultOf(row.sha256);
      if (fault !== undefined) faults.push(ofFile('evidence', row.sha256, fault, row.fileName));
    }
    last = page.at(-1)!.sha256;
  }
  for (const sha256 of (await store.evidence.redacted()).filter((name) => !redacted.has(name))) {
    faults.push({ what: 'evidence', name: sha256, fault: { code: 'tombstone of nobody' } });
  }
  return { files, bytes, faults, unreferenced: [...unreferenced].sort() };
}

const ofFile = (what: string, name: string, fault: FileFault, fileName: string | null): IntegrityFault => ({
  what,
  name,
  fault: { code: 'kept file', facts: { fault, fileName } },
});

/** What is kept of lots proves nothing; where it is not what follows from all else, lists say what is not so. */
async function checkKept(store: Store): Promise<Checked> {
  const faults: IntegrityFault[] = [];
  for (const view of [LINE_VIEW, SIGNATURES_VIEW]) {
    for (const lot of await new KeptLots<unknown>(store, view).differing()) {
      faults.push({ what: 'kept-view', name: lot, fault: { code: 'kept otherwise' } });
    }
  }
  return { ...NOTHING, faults };
}

async function checkRecords(store: Store): Promise<Checked> {
  const faults: IntegrityFault[] = [];
  const records = await store.read.records.all();
  let bytes = 0;
  for (const { number, revision, fileSha256 } of records) {
    const file = store.folder.recordFile(number, revision);
    const name = path.basename(file);
    bytes += fs.statSync(file, { throwIfNoEntry: false })?.size ?? 0;
    const fault = await faultOfFile(file, fileSha256);
    if (fault !== undefined) faults.push(ofFile('record', name, fault, null));
  }
  return { files: records.length, bytes, faults };
}

/** Ways to the raw rows of logs that are there: those that were named last. */
async function checkArchives(store: Store): Promise<Checked> {
  const files = new KeptFiles(store.folder, store.evidence);
  const last = new Map<string, string>();
  for (const { event } of await store.read.events.ofTypes(['archive-made'])) {
    if (event.type === 'archive-made') last.set(event.evidence, event.sha256);
  }
  const faults: IntegrityFault[] = [];
  for (const [log, sha256] of last) {
    const fault = await files.archiveFault(log, sha256);
    if (fault !== undefined) faults.push(ofFile('archive', log, fault, null));
  }
  return { files: last.size, bytes: 0, faults };
}

/** Files in which it is noted who read what: as long as the audit trail was told, with these bytes, and what grew since. */
async function checkReads(store: Store): Promise<Checked> {
  const files = new KeptFiles(store.folder, store.evidence);
  const checked = [...files.readsFaults(await store.read.events.readsHeads())];
  const faults = checked.flatMap(([file, fault]) => (fault ? [ofFile('readings', file, fault, null)] : []));
  return { files: checked.length, bytes: 0, faults };
}
