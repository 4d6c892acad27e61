import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { BadInputError, type Problem } from '../base/errors.js';
import { changeBetween } from '../dossier/changes.js';
import { commonFields, numberOf } from '../kinds/common-fields.js';
import { PERSONAL_DATA } from '../kinds/lot.js';
import type { BuildReport } from '../process-logs/build-report.js';
import type { Rejection, RejectionCounts } from '../process-logs/rejection.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import type { NewLink, StoredRevision } from '../store/entries.js';
import type { ReceivedFile } from '../store/evidence/evidence-files.js';
import { changedFile } from '../store/evidence/plain-file.js';
import type { Change } from '../store/repositories.js';
import type { NewResult } from '../store/results.js';
import { Store } from '../store/store.js';
import { documentProblems } from './document-rules.js';
import { type FoundFile, joined } from './folder.js';
import { Known } from './known.js';
import { LogScans, type ScannedBuild } from './log-scans.js';
import { powderProblems } from './powder-rules.js';
import { type LotFolder, type ReadFolder, type ReferencedFile, readFolder } from './read-folder.js';
import { type DerivedEntry, resultEntries, sheetEntry } from './result-entries.js';
import { planResults } from './result-rules.js';
import type { ReadDocument } from './yaml-document.js';

export interface IntakeReport {
  /** False when only checked. */
  readonly stored: boolean;
  readonly documents: { readonly kind: string; readonly key: string; readonly revision: number | null }[];
  readonly unchangedDocuments: number;
  readonly results: { readonly recorded: number; readonly corrections: number };
  readonly logs: LogLine[];
  readonly lots: string[];
  readonly unusedFiles: readonly string[];
}

/** The log of one build as it was scanned. */
export interface LogLine {
  readonly build: string;
  readonly file: string;
  readonly rows: number;
  /** Lines that were not used, by reason, and the first of them. */
  readonly rejected: RejectionCounts;
  readonly firstRejected: Rejection | null;
  readonly findings: number;
}

interface PlannedLot {
  readonly lot: LotFolder;
  readonly sheets: readonly { file: string; rows: NewResult[] }[];
  readonly scans: readonly ScannedBuild[];
}

export interface IntakeOptions {
  readonly check?: boolean;
  /** Called with how far the scan of a log is. */
  readonly onProgress?: (file: string, progress: ScanProgress) => void;
  /** Ends the scan of a log that runs; nothing of its lot is stored then. */
  readonly signal?: AbortSignal;
}

/** What was copied of a folder. Copies that do not become evidence are let go. */
interface Copies {
  /** By the path of the file. */
  readonly files: Map<string, ReceivedFile>;
  /** Of documents that are not recorded yet. */
  readonly documents: Map<ReadDocument, ReceivedFile>;
  /** Those of them that the change under way records. */
  readonly toKeep: Set<ReceivedFile>;
}

/** One folder on its way in. */
interface Running {
  readonly read: ReadFolder;
  readonly actor: string;
  readonly report: IntakeReport;
  readonly copies: Copies;
  /** Parts that are stored, in words. */
  readonly stored: string[];
  /** Entries of the ledger when the folder was checked, with those that it added itself since. */
  checkedAt: number;
}

/** Name of the link from a revision to the file that it was read from. */
const AS_RECEIVED = 'document as received';

type Part = Pick<ReadFolder, 'site' | 'lots'>;

/**
 * Takes folders in: reads and checks everything first, copies every file, reads the logs from the copies, and stores
 * only when nothing at all is wrong.
 */
@Injectable()
export class Intake {
  constructor(private readonly store: Store) {}

  /**
   * @throws BadInputError with every problem at once. Nothing is stored then, but where others wrote meanwhile what makes a
   * part of the folder wrong: it says which parts were stored before.
   * @throws AppError BUSY when another process scans one of the logs.
   */
  async run(folder: string, actor: string, options: IntakeOptions = {}): Promise<IntakeReport> {
    const stored: string[] = [];
    try {
      return await this.takeIn(folder, actor, options, stored);
    } catch (error) {
      throw error instanceof BadInputError ? new BadInputError(error.problems, stored) : error;
    }
  }

  private async takeIn(folder: string, actor: string, options: IntakeOptions, stored: string[]): Promise<IntakeReport> {
    const read = readFolder(path.resolve(folder));
    const checkedAt = await this.store.read.ledger.size();
    const sheets = await this.check(read, read);
    const report = emptyReport(options.check !== true, read);
    const copies = options.check ? undefined : await this.receive(read);
    const logs = new LogScans(this.store, {
      copies: copies?.files,
      onProgress: options.onProgress,
      signal: options.signal,
    });
    const pending: ScannedBuild[] = [];
    try {
      const known = new Known(this.store.read, documentsOf(read));
      const planned: PlannedLot[] = [];
      for (const [index, lot] of read.lots.entries()) {
        const first = pending.length;
        await logs.scan(lot, known, pending);
        planned.push({ lot, sheets: sheets[index]!, scans: pending.slice(first) });
      }
      if (copies) await this.record({ read, actor, report, copies, stored, checkedAt }, planned, pending);
      else report.logs.push(...pending.map((scan) => logLine(scan.report)));
      return report;
    } catch (error) {
      for (const scan of pending) await scan.drop(error);
      throw error;
    } finally {
      if (copies) dropAll(copies);
    }
  }

  /**
   * Holds documents and result sheets against the store and against the whole folder that they came with.
   * @returns what the sheets of each lot of the part would add.
   * @throws BadInputError with every problem at once.
   */
  private async check(part: Part, whole: ReadFolder): Promise<PlannedLot['sheets'][]> {
    const known = new Known(this.store.read, documentsOf(whole));
    const documents = documentsOf(part);
    const problems = await documentProblems(documents, known);
    problems.push(...(await powderProblems(documents, known)));
    const sheets: PlannedLot['sheets'][] = [];
    for (const lot of part.lots) sheets.push(await this.planLotResults(lot, known, problems));
    if (problems.length > 0) throw new BadInputError(problems);
    return sheets;
  }

  /** @param pending scans that are not stored yet; those that are leave the list. */
  private async record(running: Running, planned: readonly PlannedLot[], pending: ScannedBuild[]): Promise<void> {
    const { site } = running.read;
    await this.change(running, async (change, hasMoved) => {
      if (hasMoved) await this.check({ site, lots: [] }, running.read);
      for (const { document, files } of site) await this.recordDocument(change, document, files, running);
    });
    if (site.length > 0) running.stored.push('the documents of the site');
    for (const plan of planned) {
      await this.change(running, async (change, hasMoved) => {
        await this.recordLot(change, hasMoved ? await this.checkAgain(plan, running.read) : plan, running);
      });
      running.stored.push(`lot ${plan.lot.lot.lot}`);
      for (const scan of pending.splice(0, plan.scans.length)) await scan.settle();
    }
  }

  private async checkAgain({ lot, scans }: PlannedLot, whole: ReadFolder): Promise<PlannedLot> {
    const [sheets] = await this.check({ site: [], lots: [lot] }, whole);
    for (const scan of scans) await scan.refuseForeignLogs();
    return { lot, sheets: sheets!, scans };
  }

  /**
   * @param work is told whether others have written since the check. Nobody else writes while it runs, so what it then
   * checks again stays true until it is stored, however busy the folder is.
   */
  private async change(running: Running, work: (change: Change, hasMoved: boolean) => Promise<void>): Promise<void> {
    const { actor, checkedAt } = running;
    const { toKeep } = running.copies;
    toKeep.clear();
    running.checkedAt = await this.store.change(actor, async (change) => {
      const hasMoved = change.ledger.sizeNow() !== checkedAt;
      await work(change, hasMoved);
      // Right before it is recorded for good: what is not stored leaves no file behind.
      await this.store.evidence.keepAll([...toKeep]);
      // What comes later in the folder was checked before the others wrote.
      return hasMoved ? Number.NaN : change.ledger.sizeNow();
    });
  }

  private async planLotResults(folder: LotFolder, known: Known, problems: Problem[]) {
    const { specification, revision } = folder.lot.specification;
    const body = await known.body('specification', specification, revision);
    // An unknown specification is a problem of its own, found with the references.
    if (!body) return [];
    const recorded = await this.store.read.results.current(folder.lot.lot);
    const planned = await planResults(folder.lot, body, folder.sheets, recorded, known);
    problems.push(...planned.problems);
    return planned.sheets;
  }

  /**
   * Copies every file that is to be kept, and writes down documents that make a revision as they were received: what was
   * read from them is no copy of them.
   * @throws BadInputError naming every file that changed while it was copied, or since it was checked.
   */
  private async receive(read: ReadFolder): Promise<Copies> {
    const copies: Copies = { files: new Map(), documents: new Map(), toKeep: new Set() };
    try {
      await this.receiveInto(copies, read);
      return copies;
    } catch (error) {
      dropAll(copies);
      throw error;
    }
  }

  private async receiveInto({ files, documents }: Copies, read: ReadFolder): Promise<void> {
    const named = [...read.site, ...read.lots].flatMap((item) => item.files);
    const personal = new Set(named.filter(({ use }) => use === PERSONAL_DATA).map((file) => file.path));
    const problems: Problem[] = [];
    const copy = async ({ path: file, name }: FoundFile) => {
      const personalData = personal.has(file);
      if (!files.has(file)) files.set(file, await this.store.evidence.receive(file, { personalData, name }));
      return files.get(file)!;
    };
    for (const file of named) await copy(file).catch(collectInto(problems));
    for (const { folder, sheets } of read.lots) {
      for (const sheet of sheets) {
        const file = { path: sheet.path, name: joined(folder, sheet.file) };
        const received = await copy(file).catch(collectInto(problems));
        const isSame = received === undefined || received.sha256 === sheet.sha256;
        if (!isSame) problems.push(changedFile(file.name, 'other bytes than were checked'));
      }
    }
    if (problems.length > 0) throw new BadInputError(problems);
    const known = new Known(this.store.read, documentsOf(read));
    for (const document of documentsOf(read)) {
      if (await known.isRecorded(document)) continue;
      documents.set(document, await this.store.evidence.receive(document.bytes));
    }
  }

  private async recordDocument(
    change: Change,
    document: ReadDocument,
    files: readonly ReferencedFile[],
    { copies, report }: Running,
  ): Promise<void> {
    const { kind, body } = document;
    const evidence: NewLink[] = [];
    const key = kind.key(body);
    const number = numberOf(kind, body);
    const received = copies.documents.get(document);
    // Others may have recorded it meanwhile.
    if (received && !isSame(await revisionBefore(change, kind.kind, key, number), body)) {
      const { sha256, bytes } = toBeKept(copies, received);
      await change.evidence.add({ sha256, bytes, fileName: path.posix.basename(document.file) });
      evidence.push({ name: AS_RECEIVED, to: { evidence: sha256 } });
    }
    for (const file of files) {
      const { sha256, bytes } = toBeKept(copies, copies.files.get(file.path)!);
      // The name of a scan may tell who the patient is.
      const fileName = file.use === PERSONAL_DATA ? PERSONAL_DATA : path.posix.basename(file.name);
      await change.evidence.add({ sha256, bytes, fileName });
      evidence.push({ name: file.use, to: { evidence: sha256 } });
    }
    for (const item of kind.declares(body)) {
      await this.recordIfChanged(change, item.kind, item.key, item.name, item.body, item.links.map(asNewLink));
    }
    const links = [...kind.links(body).map(asNewLink), ...evidence];
    const { reason } = commonFields(body);
    const revision = await this.recordIfChanged(change, kind.kind, key, kind.name(body), body, links, number, reason);
    if (revision === undefined) (report as { unchangedDocuments: number }).unchangedDocuments += 1;
    else report.documents.push({ kind: kind.kind, key, revision });
  }

  private async recordIfChanged(
    change: Change,
    kind: string,
    key: string,
    name: string,
    body: unknown,
    links: readonly NewLink[],
    number?: number,
    reason?: string,
  ): Promise<number | undefined> {
    const before = await revisionBefore(change, kind, key, number);
    if (isSame(before, body)) return undefined;
    return change.entries.add({ kind, key, name, body, links, number, reason: before ? reason : undefined });
  }

  private recordDerived(change: Change, { kind, key, name, body, links }: DerivedEntry): Promise<number | undefined> {
    return this.recordIfChanged(change, kind, key, name, body, links);
  }

  private async recordLot(change: Change, { lot: folder, sheets, scans }: PlannedLot, running: Running) {
    const { lot } = folder.lot;
    const { copies, report } = running;
    await this.recordDocument(change, folder.document, folder.files, running);
    for (const sheet of folder.sheets) {
      const { sha256, bytes } = toBeKept(copies, copies.files.get(sheet.path)!);
      await change.evidence.add({ sha256, bytes, fileName: path.posix.basename(sheet.file) });
      const rows = sheets.find((item) => item.file === sheet.file)?.rows ?? [];
      await change.results.add(lot, sheet.file, rows);
      await this.recordDerived(change, sheetEntry(lot, sheet));
      const counts = report.results as { recorded: number; corrections: number };
      counts.recorded += rows.length;
      counts.corrections += rows.filter((row) => row.replacesId !== undefined).length;
    }
    for (const entry of await resultEntries(change, folder.lot, folder.sheets)) await this.recordDerived(change, entry);
    for (const { report: scan } of scans) {
      const { build, sha256, planSha256 } = scan.files[0]!;
      if (await change.logs.isScanned(build, sha256, planSha256)) continue;
      await change.logs.add(lot, scan);
      report.logs.push(logLine(scan));
    }
  }
}

const documentsOf = ({ site, lots }: Part): ReadDocument[] => [...site, ...lots].map((item) => item.document);

/** The revision that a document may repeat: the one of its number, or the latest. */
const revisionBefore = (change: Change, kind: string, key: string, number: number | undefined) =>
  number === undefined ? change.entries.current(kind, key) : change.entries.revision(kind, key, number);

const isSame = (before: StoredRevision | undefined, body: unknown): boolean =>
  before !== undefined && changeBetween(before.body, body) === 'same';

/** Becomes evidence with the change that records it. */
function toBeKept({ toKeep }: Copies, copy: ReceivedFile): ReceivedFile {
  toKeep.add(copy);
  return copy;
}

function dropAll({ files, documents }: Copies): void {
  for (const copy of [...files.values(), ...documents.values()]) copy.drop();
}

/** Problems of one file join those of the others; any other error ends the intake. */
const collectInto =
  (problems: Problem[]) =>
  (error: unknown): undefined => {
    if (!(error instanceof BadInputError)) throw error;
    problems.push(...error.problems);
  };

const asNewLink = (link: { name: string; kind: string; key: string; revision?: number; massG?: string }): NewLink => ({
  name: link.name,
  to: { kind: link.kind, key: link.key },
  revision: link.revision,
  massG: link.massG,
});

function logLine({ files, part, rows, rejections, rejectionsByCode: rejected }: BuildReport): LogLine {
  const file = files.map(({ fileName }) => fileName).join(', ');
  const [firstRejected = null] = rejections;
  return { build: part.build, file, rows, rejected, firstRejected, findings: part.findings.length };
}

function emptyReport(stored: boolean, read: ReadFolder): IntakeReport {
  return {
    stored,
    documents: [],
    unchangedDocuments: 0,
    results: { recorded: 0, corrections: 0 },
    logs: [],
    lots: read.lots.map((item) => item.lot.lot),
    unusedFiles: read.unused,
  };
}
