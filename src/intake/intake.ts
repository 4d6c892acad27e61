import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { explained } from '../base/disk-trouble.js';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import type { LotNow } from '../kinds/split-lot.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import { afterStoredText, STORED_PARTS } from '../report/phrases/stored-parts.js';
import type { ReceivedFile } from '../store/evidence/evidence-files.js';
import type { Change } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { concessionProblems } from './concession-rules.js';
import { dropAll, receive } from './copies.js';
import { documentProblems } from './document-rules.js';
import { exposureProblems, ratesInSheet } from './exposure-sheets.js';
import { familyProblems } from './family-rules.js';
import { joined } from './folder.js';
import { sheetsOfExports } from './instrument-exports.js';
import { emptyReport, type IntakeReport, logLine, type WouldStore } from './intake-report.js';
import { Known } from './known.js';
import { LogScans, type ScannedBuild } from './log-scans.js';
import { lotProblems } from './lot-rules.js';
import { lotComing } from './lots-coming.js';
import { type MadeDocument, writeMadeDocuments } from './made-documents.js';
import { withReadCertificates } from './material-certificates.js';
import { withOpenedNonconformities } from './opened-nonconformities.js';
import { scanPlaceLogs } from './place-logs.js';
import { placeProblems } from './place-rules.js';
import { planProblems } from './plan-rules.js';
import { powderProblems } from './powder-rules.js';
import { documentsOf, type LotFolder, type ReadFolder, readFolder } from './read-folder.js';
import { type PlannedLot, type Recording, recordDocument, recordLot } from './record-parts.js';
import { recordedFileProblems } from './recorded-files.js';
import { planResults } from './result-rules.js';
import { type Shaped, withShapes } from './shape-scans.js';
import { signalProblems } from './signal-rules.js';
import { splitLotProblems } from './split-lot-rules.js';
import { withMeshDigests } from './stock-meshes.js';
import { stockProblems } from './stock-rules.js';
import { type MadeSheet, storedLotOf, storedLotWith } from './stored-lot.js';
import { textProblems } from './text-rules.js';
import { type NotYet, notYetBy, timeProblems } from './time-rules.js';
import { unitMoveProblems } from './unit-move-rules.js';
import { refuseOther, wouldStore } from './would-store.js';

export interface IntakeOptions {
  readonly check?: boolean;
  /** Called with how far the scan of a log is. */
  readonly onProgress?: (file: string, progress: ScanProgress) => void;
  /** Ends the scan of a log that runs, and whatever comes before storing; nothing is stored then. */
  readonly signal?: AbortSignal;
  /** Stores all of it or nothing; without it site and lots are stored one after the other, each whole. */
  readonly inOneChange?: boolean;
  /** What is wrong with files that no document names; without it they are told and left. */
  readonly refuseUnused?: (names: readonly string[]) => readonly Problem[];
  /** What was left out before the folder was here: it is told with what else is not kept. */
  readonly passedOver?: readonly string[];
  /** What somebody was shown that would be stored: when it is not that any more, nothing is. Only in one change. */
  readonly expected?: WouldStore | undefined;
  /** Asked right before all is stored, where nobody else writes: when it throws, nothing is. */
  readonly demand?: ((change: Change) => Promise<void>) | undefined;
}

/** One folder on its way in. */
interface Running extends Recording {
  readonly read: ReadFolder;
  readonly actor: string;
  readonly inOneChange: boolean;
  readonly expected: WouldStore | undefined;
  readonly demand: IntakeOptions['demand'];
  /** Parts that are stored, in words. */
  readonly stored: string[];
  /** Entries of the ledger when the folder was checked, with those that it added itself since. */
  checkedAt: number;
}

type Part = Pick<ReadFolder, 'site' | 'lots'>;

/** What is stored by one change. */
interface Portion {
  readonly site: ReadFolder['site'];
  readonly plans: readonly PlannedLot[];
}

/**
 * Takes folders in: reads and checks everything first, copies every file, reads the logs from the copies, and stores
 * only when nothing at all is wrong.
 */
@Injectable()
export class Intake {
  constructor(private readonly store: Store) {}

  /**
   * @throws BadInputError with every problem at once. Nothing is stored then, but where, unless all is one change, others wrote meanwhile what makes a
   * part of the folder wrong: it says which parts were stored before.
   * @throws AppError BUSY when another process scans one of the logs or keeps the store; STORAGE when the disk fails. It says
   * too which parts were stored before.
   */
  async run(folder: string, actor: string, options: IntakeOptions = {}): Promise<IntakeReport> {
    return this.takeRead(() => readFolder(path.resolve(folder)), actor, options);
  }

  /**
   * Takes in documents that were made on a page: they become the folder that somebody would have written, and go the same
   * way. @throws as `run`.
   */
  async take(documents: readonly MadeDocument[], actor: string, options: IntakeOptions = {}): Promise<IntakeReport> {
    const spool = this.store.spools.begin();
    try {
      await writeMadeDocuments(spool.path, documents, this.store.evidence);
      return await this.run(spool.path, actor, { ...options, inOneChange: true });
    } finally {
      spool.remove();
    }
  }

  /**
   * Takes in one more result sheet of a lot that is stored, as if it had come with the folder of the lot.
   * @throws as `run`; NotFoundError without such a lot.
   */
  async takeSheet(lot: string, sheet: MadeSheet, actor: string, options: IntakeOptions = {}): Promise<IntakeReport> {
    const spool = this.store.spools.begin();
    try {
      const reads = () => storedLotWith(this.store.read, spool.path, lot, sheet);
      return await this.takeRead(reads, actor, { ...options, inOneChange: true });
    } finally {
      spool.remove();
    }
  }

  private async takeRead(
    reads: () => ReadFolder | Promise<ReadFolder>,
    actor: string,
    options: IntakeOptions,
  ): Promise<IntakeReport> {
    const stored: string[] = [];
    try {
      const { onProgress, signal } = options;
      const certified = await this.withCertificates(await reads());
      const measured = await withShapes(this.store, await this.withExports(certified), {
        onProgress: onProgress && ((file, progress) => onProgress(file, { rows: 0, ...progress })),
        signal,
      });
      const read = await withOpenedNonconformities(measured.read, this.store.read);
      return await this.takeIn({ ...measured, read }, actor, options, stored);
    } catch (error) {
      throw withStored(error, stored);
    }
  }

  /** The same, with what files of documents say: lines of certificates, digests of meshes. */
  private async withCertificates(read: ReadFolder): Promise<ReadFolder> {
    const digested = await withMeshDigests(read);
    return withReadCertificates(digested, new Known(this.store.read, documentsOf(digested)));
  }

  /** The same, with what instruments exported as sheets. */
  private async withExports(read: ReadFolder): Promise<ReadFolder> {
    const all = await this.withStoredLots(read);
    const known = new Known(this.store.read, documentsOf({ ...read, lots: all }));
    const lots: LotFolder[] = [];
    for (const lot of all) {
      const { exports = [], sheets } = lot;
      const own = await sheetsOfExports(exports, known).catch((error: unknown) => {
        throw error instanceof BadInputError ? inFolder(error, lot) : error;
      });
      lots.push({ ...lot, sheets: [...sheets, ...own] });
    }
    return { ...read, lots };
  }

  /** The lots of a folder, and those that are stored of which an export came. */
  private async withStoredLots({ lots, exportsFor = [] }: ReadFolder): Promise<LotFolder[]> {
    const found = [...lots];
    for (const code of new Set(exportsFor.map(({ lot }) => lot))) {
      const own = exportsFor.filter(({ lot }) => lot === code).map((item) => item.export);
      const at = found.findIndex(({ lot }) => lot.lot === code);
      const folder = found[at] ?? (await storedLotOf(this.store.read, code, own[0]!));
      found.splice(at < 0 ? found.length : at, 1, { ...folder, exports: [...(folder.exports ?? []), ...own] });
    }
    return found;
  }

  private async takeIn(
    { read, problems }: Shaped,
    actor: string,
    options: IntakeOptions,
    stored: string[],
  ): Promise<IntakeReport> {
    refuse(options.refuseUnused?.(read.unused) ?? []);
    const checkedAt = await this.store.read.ledger.size();
    const sheets = await this.check(read, read, problems);
    const report = emptyReport(options.check !== true, read, options.passedOver);
    const copies = options.check ? undefined : await receive(this.store, read);
    const logs = new LogScans(this.store, {
      copies: copies?.files,
      onProgress: options.onProgress,
      signal: options.signal,
    });
    const { inOneChange = false, expected, demand } = options;
    const pending: ScannedBuild[] = [];
    try {
      refuse(await recordedFileProblems(this.store.read, read, copies));
      const known = new Known(this.store.read, documentsOf(read));
      const planned: PlannedLot[] = [];
      for (const [index, lot] of read.lots.entries()) {
        const first = pending.length;
        if (!lot.isStored) await logs.scan(lot, known, pending);
        planned.push({ lot, sheets: sheets[index]!, scans: pending.slice(first) });
      }
      const placeLogs = await scanPlaceLogs(read.site, known, copies, options.signal);
      options.signal?.throwIfAborted();
      const running = { read, actor, report, stored, checkedAt, inOneChange, expected, demand, placeLogs };
      if (copies) await this.record({ ...running, copies }, planned, pending);
      else {
        report.logs.push(...pending.map((scan) => logLine(scan.report)));
        return { ...report, wouldStore: await wouldStore(this.store.read, known, read, planned) };
      }
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
   * @param found what is wrong with scans.
   * @returns what the sheets of each lot of the part would add.
   * @throws BadInputError with every problem at once.
   */
  private async check(part: Part, whole: ReadFolder, found: readonly Problem[] = []): Promise<PlannedLot['sheets'][]> {
    const known = new Known(this.store.read, documentsOf(whole));
    const documents = documentsOf(part);
    const notYet = notYetBy(this.store.clock);
    const problems = [...found, ...(await documentProblems(documents, known))];
    problems.push(...(await timeProblems(documents, known, notYet)));
    problems.push(...(await powderProblems(documents, known)));
    problems.push(...(await placeProblems(documents, known, this.store.read)));
    problems.push(...(await stockProblems(documents, known, this.store.read)));
    problems.push(...(await unitMoveProblems(documents, known, this.store.read)));
    problems.push(...(await concessionProblems(documents, this.store.read)));
    problems.push(...(await exposureProblems(documents, known)));
    problems.push(...(await familyProblems(documents, known, this.store.read)));
    problems.push(...(await planProblems(documents, known)));
    problems.push(...(await signalProblems(documents, known)));
    problems.push(...(await textProblems(part)));
    const sheets: PlannedLot['sheets'][] = [];
    for (const lot of part.lots) problems.push(...(await lotProblems(lot, this.store.read)));
    for (const lot of part.lots) {
      const now = await lotComing(lot.lot, documentsOf(whole), known, this.store.read);
      problems.push(...(await splitLotProblems(lot, now, known, this.store.read)));
      sheets.push(await this.planLotResults(lot, now, known, notYet, problems));
    }
    refuse(problems);
    return sheets;
  }

  /** @param pending scans that are not stored yet; those that are leave the list. */
  private async record(running: Running, planned: readonly PlannedLot[], pending: ScannedBuild[]): Promise<void> {
    const { site } = running.read;
    const byLot: Portion[] = [{ site, plans: [] }, ...planned.map((plan) => ({ site: [], plans: [plan] }))];
    for (const portion of running.inOneChange ? [{ site, plans: planned }] : byLot) {
      await this.change(running, async (change, hasMoved) => {
        await running.demand?.(change);
        for (const { scans } of portion.plans) for (const scan of scans) await scan.refuseTakenOver(change);
        const { plans } = hasMoved ? await this.planAgain(portion, running) : portion;
        for (const { document, files } of portion.site) await recordDocument(change, document, files, running);
        for (const plan of plans) await recordLot(change, plan, running);
        if (running.expected) refuseOther(running.expected, running.report);
      });
      if (portion.site.length > 0) running.stored.push(STORED_PARTS.site);
      for (const { lot, scans } of portion.plans) {
        running.stored.push(STORED_PARTS.lot(lot.lot.lot));
        for (const scan of pending.splice(0, scans.length)) await scan.settle();
      }
    }
  }

  private async planAgain({ site, plans }: Portion, { read, copies }: Running): Promise<Portion> {
    const part = { site, lots: plans.map(({ lot }) => lot) };
    const sheets = await this.check(part, read);
    refuse(await recordedFileProblems(this.store.read, part, copies));
    for (const { scans } of plans) for (const scan of scans) await scan.refuseForeignLogs();
    return { site, plans: plans.map((plan, index) => ({ ...plan, sheets: sheets[index]! })) };
  }

  /**
   * @param work is told whether others have written since the check. Nobody else writes while it runs, so what it then
   * checks again stays true until it is stored, however busy the folder is.
   */
  private async change(running: Running, work: (change: Change, hasMoved: boolean) => Promise<void>): Promise<void> {
    const { actor, checkedAt } = running;
    const { files, documents, toKeep } = running.copies;
    const ahead = await this.store.evidence.sendAhead([...files.values(), ...documents.values()]);
    toKeep.clear();
    running.checkedAt = await this.store.change(actor, async (change) => {
      const hasMoved = change.ledger.sizeNow() !== checkedAt;
      await work(change, hasMoved);
      // Right before it is recorded for good: what is not stored leaves no file behind.
      const kept = await this.withoutRedacted(change, [...toKeep]);
      await this.store.evidence.keepAll(kept, ahead);
      // What comes later in the folder was checked before the others wrote.
      return hasMoved ? Number.NaN : change.ledger.sizeNow();
    });
  }

  /** What was redacted since files were sent ahead is asked of the audit trail: nobody waits for a network meanwhile. */
  private async withoutRedacted(change: Change, received: readonly ReceivedFile[]): Promise<ReceivedFile[]> {
    const told = await change.events.ofTypes(['evidence-redacted']);
    const redacted = new Set(told.flatMap(({ event }) => (event.type === 'evidence-redacted' ? event.sha256 : [])));
    return received.filter(({ sha256 }) => !redacted.has(sha256));
  }

  private async planLotResults(folder: LotFolder, now: LotNow, known: Known, notYet: NotYet, problems: Problem[]) {
    const { specification, revision } = folder.lot.specification;
    const body = await known.body('specification', specification, revision);
    // An unknown specification is a problem of its own, found with the references.
    if (!body) return [];
    const recorded = await this.store.read.results.current(folder.lot.lot);
    const computed = await Promise.all(
      folder.exposures.map(async (sheet) => ({
        ...{ ...sheet, rows: await ratesInSheet(sheet, body, known), isComputed: true },
      })),
    );
    const shapes = (folder.shapes ?? []).flatMap(({ sheet }) => sheet ?? []);
    const planned = await planResults(now, body, [...folder.sheets, ...computed, ...shapes], recorded, known, notYet);
    problems.push(...inFolder(planned, folder).problems);
    return planned.sheets;
  }
}

/** Named as the file lies in what was taken in: in the folder of its lot, or where exports for stored lots lie. */
const inFolder = (
  { problems }: { readonly problems: readonly Problem[] },
  { folder, exports = [] }: Pick<LotFolder, 'folder' | 'exports'>,
) =>
  new BadInputError(
    problems.map(({ file = '', ...problem }) => ({
      ...problem,
      file: exports.find((one) => one.file === file)?.at ?? joined(folder, file),
    })),
  );

function refuse(problems: readonly Problem[]): void {
  if (problems.length > 0) throw new BadInputError(problems);
}

/** The same error, saying which parts were stored when it came. */
function withStored(raised: unknown, stored: readonly string[]): unknown {
  if (raised instanceof BadInputError) return new BadInputError(raised.problems, stored);
  const error = explained(raised);
  if (!(error instanceof AppError) || stored.length === 0) return error;
  return new AppError(error.code, afterStoredText(error.message, stored), { ...error.facts, stored });
}
