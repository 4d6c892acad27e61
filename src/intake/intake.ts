import path from 'node:path';
import { digestOf } from '../dossier/canonical.js';
import { changeBetween } from '../dossier/changes.js';
import { revisionKey } from '../dossier/facts.js';
import { AppError, BadInputError, type Problem } from '../errors.js';
import { PERSONAL_DATA } from '../kinds/lot.js';
import type { Specification } from '../kinds/specification.js';
import type { BuildReport } from '../process-logs/build-report.js';
import type { Rejection } from '../process-logs/rejection.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import type { KeptFile } from '../store/evidence-files.js';
import { recordBuildLog } from '../store/record-build-log.js';
import type { Store } from '../store/store.js';
import type { NewLink, NewResult, Writer } from '../store/writer.js';
import { documentProblems } from './document-rules.js';
import { Known } from './known.js';
import { LogScans, type ScannedBuild } from './log-scans.js';
import { powderProblems } from './powder-rules.js';
import { type LotFolder, type ReadFolder, type ReferencedFile, readFolder } from './read-folder.js';
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
  readonly rejected: Readonly<Record<string, number>>;
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

const ATTEMPTS = 5;

/** Name of the link from a revision to the file that it was read from. */
const AS_RECEIVED = 'document as received';

/** Takes folders in: reads and checks everything first, and stores it only when nothing at all is wrong. */
export class Intake {
  constructor(private readonly store: Store) {}

  /**
   * @throws BadInputError with every problem at once; nothing is stored then.
   * @throws AppError BUSY when another process scans one of the logs, or kept changing the folder.
   */
  async run(folder: string, actor: string, options: IntakeOptions = {}): Promise<IntakeReport> {
    const read = readFolder(path.resolve(folder));
    for (let attempt = 1; ; attempt++) {
      try {
        return await this.attempt(read, actor, options);
      } catch (error) {
        // What was checked against has moved under us: check again. What is stored already counts as unchanged.
        if (!(error instanceof MovedError) || attempt === ATTEMPTS) throw error;
      }
    }
  }

  private async attempt(read: ReadFolder, actor: string, options: IntakeOptions): Promise<IntakeReport> {
    const check = options.check === true;
    const size = await this.store.read.ledgerSize();
    const documents = [...read.site.map((item) => item.document), ...read.lots.map((item) => item.document)];
    const known = new Known(this.store.read, documents);
    const problems = await documentProblems(documents, known);
    problems.push(...(await powderProblems(documents, known)));
    const results = [];
    for (const lot of read.lots) results.push(await this.planLotResults(lot, known, problems));
    if (problems.length > 0) throw new BadInputError(problems);

    const logs = new LogScans(this.store, { check, onProgress: options.onProgress, signal: options.signal });
    const pending: ScannedBuild[] = [];
    try {
      const planned: PlannedLot[] = [];
      for (const [index, lot] of read.lots.entries()) {
        const first = pending.length;
        await logs.scan(lot, known, pending);
        planned.push({ lot, sheets: results[index]!, scans: pending.slice(first) });
      }
      const report = emptyReport(!check, read);
      if (check) report.logs.push(...pending.map((scan) => logLine(scan.report)));
      else await this.record(read, known, planned, actor, size, report, pending);
      return report;
    } catch (error) {
      for (const scan of pending) await scan.drop(error);
      throw error;
    }
  }

  /** @param pending scans that are not stored yet; those that are leave the list. */
  private async record(
    read: ReadFolder,
    known: Known,
    planned: readonly PlannedLot[],
    actor: string,
    sizeBefore: number,
    report: IntakeReport,
    pending: ScannedBuild[],
  ): Promise<void> {
    await this.keepFiles(read);
    await this.keepDocuments(read, known);
    let size = await this.change(actor, sizeBefore, async (writer) => {
      for (const { document, files } of read.site) await this.recordDocument(writer, document, files, report);
    });
    for (const lot of planned) {
      size = await this.change(actor, size, (writer) => this.recordLot(writer, lot, report));
      for (const scan of pending.splice(0, lot.scans.length)) await scan.settle();
    }
  }

  private async change(actor: string, expectedSize: number, work: (writer: Writer) => Promise<void>): Promise<number> {
    return this.store.change(actor, async (writer) => {
      if (writer.ledgerSize !== expectedSize) throw new MovedError();
      await work(writer);
      return writer.ledgerSize;
    });
  }

  private async planLotResults(folder: LotFolder, known: Known, problems: Problem[]) {
    const { specification, revision } = folder.lot.specification;
    const body = await known.body<Specification>('specification', specification, revision);
    // An unknown specification is a problem of its own, found with the references.
    if (!body) return [];
    const recorded = await this.store.read.currentResults(folder.lot.lot);
    const planned = await planResults(folder.lot, body, folder.sheets, recorded, known);
    problems.push(...planned.problems);
    return planned.sheets;
  }

  private async keepFiles(read: ReadFolder): Promise<void> {
    for (const { path: file, use } of [...read.site, ...read.lots].flatMap((item) => item.files)) {
      await this.keep(file, use === PERSONAL_DATA);
    }
    for (const sheet of read.lots.flatMap((lot) => lot.sheets)) await this.keep(sheet.path);
  }

  /** Documents that make a revision are kept as they were received: what was read from them is no copy of them. */
  private async keepDocuments(read: ReadFolder, known: Known): Promise<void> {
    for (const { document } of [...read.site, ...read.lots]) {
      if (await known.isRecorded(document)) continue;
      this.received.set(document, await this.store.evidence.keep(document.bytes));
    }
  }

  private readonly received = new Map<ReadDocument, KeptFile>();

  private readonly kept = new Map<string, { sha256: string; bytes: number }>();

  private async keep(file: string, personalData = false): Promise<void> {
    this.kept.set(file, await this.store.evidence.keep(file, { personalData }));
  }

  private async recordDocument(
    writer: Writer,
    document: ReadDocument,
    files: readonly ReferencedFile[],
    report: IntakeReport,
  ): Promise<void> {
    const { kind, body } = document;
    const evidence: NewLink[] = [];
    const received = this.received.get(document);
    if (received) {
      await writer.recordEvidence({ ...received, fileName: path.posix.basename(document.file) });
      evidence.push({ name: AS_RECEIVED, to: { evidence: received.sha256 } });
    }
    for (const file of files) {
      const { sha256, bytes } = this.kept.get(file.path)!;
      // The name of a scan may tell who the patient is.
      const fileName = file.use === PERSONAL_DATA ? PERSONAL_DATA : path.posix.basename(file.name);
      await writer.recordEvidence({ sha256, bytes, fileName });
      evidence.push({ name: file.use, to: { evidence: sha256 } });
    }
    for (const item of kind.declares(body)) {
      await this.recordIfChanged(writer, item.kind, item.key, item.name, item.body, item.links.map(asNewLink));
    }
    const key = kind.key(body);
    const links = [...kind.links(body).map(asNewLink), ...evidence];
    const number = kind.numbering === 'document' ? (body as { revision: number }).revision : undefined;
    const { reason } = body as { reason?: string };
    const revision = await this.recordIfChanged(writer, kind.kind, key, kind.name(body), body, links, number, reason);
    if (revision === undefined) (report as { unchangedDocuments: number }).unchangedDocuments += 1;
    else report.documents.push({ kind: kind.kind, key, revision });
  }

  private async recordIfChanged(
    writer: Writer,
    kind: string,
    key: string,
    name: string,
    body: unknown,
    links: readonly NewLink[],
    number?: number,
    reason?: string,
  ): Promise<number | undefined> {
    const before =
      number === undefined ? await writer.currentRevision(kind, key) : await writer.revisionNumbered(kind, key, number);
    if (before && changeBetween(JSON.parse(before.body), body) === 'same') return undefined;
    return writer.recordRevision({ kind, key, name, body, links, number, reason: before ? reason : undefined });
  }

  private async recordLot(writer: Writer, { lot: folder, sheets, scans }: PlannedLot, report: IntakeReport) {
    const { lot } = folder.lot;
    await this.recordDocument(writer, folder.document, folder.files, report);
    for (const sheet of folder.sheets) {
      const { sha256, bytes } = this.kept.get(sheet.path)!;
      await writer.recordEvidence({ sha256, bytes, fileName: path.posix.basename(sheet.file) });
      const rows = sheets.find((item) => item.file === sheet.file)?.rows ?? [];
      await writer.recordResults(lot, sheet.file, rows);
      await this.recordResultSet(writer, lot, sheet);
      const counts = report.results as { recorded: number; corrections: number };
      counts.recorded += rows.length;
      counts.corrections += rows.filter((row) => row.replacesId !== undefined).length;
    }
    for (const { report: scan } of scans) {
      const { build, sha256, planSha256 } = scan.files[0]!;
      if (await writer.isScanned(build, sha256, planSha256)) continue;
      await recordBuildLog(writer, lot, scan);
      report.logs.push(logLine(scan));
    }
  }

  /** A result sheet is an entry of its own: a trace leads from instrument, analyst and method to what they measured. */
  private async recordResultSet(writer: Writer, lot: string, sheet: LotFolder['sheets'][number]): Promise<void> {
    const facts = {
      lot,
      file: sheet.file,
      evidence: sheet.sha256,
      rows: sheet.rows.length,
      digest: digestOf(sheet.rows),
    };
    const distinct = (values: readonly string[]) => [...new Set(values)].filter((value) => value !== '').sort();
    const specimens = distinct(sheet.rows.map((row) => row.specimen));
    const parts = await Promise.all(
      specimens.map(async (key) => ({
        kind: (await writer.currentRevision('implant', key)) ? 'implant' : 'coupon',
        key,
      })),
    );
    const methods = new Map(sheet.rows.map((row) => [revisionKey(row.method, row.methodRevision), row]));
    await this.recordIfChanged(
      writer,
      'result-set',
      `${lot}:${sheet.file}`,
      `results of ${specimens.join(', ')}`,
      facts,
      [
        { name: 'of lot', to: { kind: 'lot', key: lot } },
        ...parts.map((part) => ({ name: 'measured on', to: part })),
        ...distinct(sheet.rows.map((row) => row.instrument)).map((key) => ({
          name: 'measured with',
          to: { kind: 'instrument', key },
        })),
        ...distinct(sheet.rows.flatMap((row) => [row.analyst, row.enteredBy])).map((key) => ({
          name: 'measured or entered by',
          to: { kind: 'person', key },
        })),
        ...[...methods.values()].map((row) => ({
          name: 'by method',
          to: { kind: 'method', key: row.method },
          revision: row.methodRevision,
        })),
        { name: 'results', to: { evidence: sheet.sha256 } },
      ],
    );
  }
}

/** The data folder changed between checking and storing. */
class MovedError extends AppError {
  constructor() {
    super('BUSY', 'others kept changing the data folder; nothing of this part was stored, try again');
  }
}

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
