import fs from 'node:fs';
import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { logsOf } from '../kinds/log-files.js';
import type { Build } from '../kinds/lot.js';
import type { BuildReport, BuildScan } from '../process-logs/build-report.js';
import { buildRequest, type ScanDocuments } from '../process-logs/build-request.js';
import { scanLog } from '../process-logs/scan-file.js';
import type { ScanProgress } from '../process-logs/scan-stream.js';
import type { ReceivedFile } from '../store/evidence/evidence-files.js';
import { changedFile, stampOf } from '../store/evidence/plain-file.js';
import { refuseLost } from '../store/leases.js';
import type { MadeArchive } from '../store/logs.js';
import type { Change } from '../store/repositories.js';
import type { Claim } from '../store/scan-jobs.js';
import type { Store } from '../store/store.js';
import type { Known } from './known.js';
import { readSidecars } from './log-sidecars.js';
import type { LotFolder, ReferencedFile } from './read-folder.js';
import { scanDocuments } from './scan-documents.js';
import { logTextProblems } from './text-rules.js';
import { notYetBy } from './time-rules.js';

export interface LogScanOptions {
  /** Copies of the files of the folder, by their paths; absent when the logs are only checked, and nothing is kept. */
  readonly copies?: ReadonlyMap<string, ReceivedFile> | undefined;
  readonly onProgress?: ((file: string, progress: ScanProgress) => void) | undefined;
  /** Ends the scan that runs; nothing is stored then. */
  readonly signal?: AbortSignal | undefined;
}

/** The scanned log of one build, and what is still to be done with it once it is stored. */
export class ScannedBuild {
  constructor(
    readonly report: BuildReport,
    private readonly claim: Claim | undefined,
    private readonly archives: readonly string[],
    private readonly store: Store,
    /** @throws BadInputError when one of its files is by now the log of another build. */
    readonly refuseForeignLogs: () => Promise<void>,
  ) {}

  /** The archives that it leaves, for the audit trail. */
  get made(): MadeArchive[] {
    return this.archives.map((begun, index) => ({
      evidence: this.report.files[index]!.sha256,
      sha256: this.store.archives.digestOf(begun),
    }));
  }

  /** @throws AppError CONFLICT when another process has taken the scan over: then nothing of the change is stored. */
  async refuseTakenOver(change: Change): Promise<void> {
    if (this.claim) await refuseLost(change, this.claim.lease);
  }

  /** The scan is stored: its raw rows can be shown from now on. */
  async settle(): Promise<void> {
    for (const [index, begun] of this.archives.entries()) {
      await this.store.archives.settle(begun, this.report.files[index]!.sha256);
    }
    await this.claim?.end('done');
  }

  /** The scan is not stored. */
  async drop(error: unknown): Promise<void> {
    for (const begun of this.archives) this.store.archives.drop(begun);
    await this.claim?.end('failed', messageOf(error));
  }
}

/** Scans the logs of a lot folder before anything of it is stored. Others see that they run, and can cancel them. */
export class LogScans {
  constructor(
    private readonly store: Store,
    private readonly options: LogScanOptions,
  ) {}

  /**
   * @param scanned gets each build as soon as it is scanned, so that it can be let go when a later one fails.
   * @throws BadInputError when a log cannot be used; AppError BUSY when another process scans it; an AbortError when it
   * was cancelled.
   */
  async scan(folder: LotFolder, known: Known, scanned: ScannedBuild[]): Promise<void> {
    const documents = await scanDocuments(folder.lot, (...revision) => known.body(...revision));
    for (const [index, build] of folder.lot.builds.entries()) {
      if (build.log === undefined) continue;
      const files = logsOf(build).map(({ field }) => fileAt(folder, `builds[${index}].${field}.file`)!);
      const one = await this.scanBuild(folder, build, index, files, documents);
      // Let go with the others when it turns out to be one of theirs.
      scanned.push(one);
      refuseLogsTwice(folder, build, index, one, scanned);
    }
  }

  private async scanBuild(
    folder: LotFolder,
    build: Build,
    index: number,
    files: readonly ReferencedFile[],
    documents: Omit<ScanDocuments, 'sidecars'>,
  ): Promise<ScannedBuild> {
    const { copies } = this.options;
    const archives = copies ? files.map(() => this.store.archives.begin()) : [];
    const sidecars = readSidecars(folder, index, this.pathOf);
    const request = buildRequest(folder.lot, build, { ...documents, sidecars }, (field) => {
      const at = logsOf(build).findIndex((log) => log.field === field);
      const path = this.pathOf(files[at]!.path);
      return copies ? { path, archive: archives[at]! } : { path };
    });
    const claim = copies ? await this.claim(folder, build, files) : undefined;
    try {
      const stamps = copies ? [] : files.map(({ path }) => stampOf(path));
      const report = await this.runScan(request, files[0]!.name, claim);
      if (!copies)
        refuse(
          files.flatMap(({ path, name }, at) =>
            stampOf(path) === stamps[at] ? [] : [changedFile(name, 'a file that changed while it was checked')],
          ),
        );
      this.refuseOtherBytes(files, report);
      await this.refuseTimesAhead(files, report);
      refuse(await logTextProblems(report, files[0]!.name));
      const refuseForeignLogs = () => this.refuseForeignLogs(build, index, report, folder);
      await refuseForeignLogs();
      return new ScannedBuild(report, claim, archives, this.store, refuseForeignLogs);
    } catch (error) {
      for (const begun of archives) this.store.archives.drop(begun);
      const isCancelled = (error as Error).name === 'AbortError';
      await claim?.end(isCancelled ? 'cancelled' : 'failed', messageOf(error));
      throw error;
    }
  }

  /** What is found in a log is found in the bytes that are kept, whatever its recorder goes on writing. */
  private readonly pathOf = (file: string): string => this.options.copies?.get(file)?.path ?? file;

  private claim({ lot: { lot } }: LotFolder, { build, log }: Build, files: readonly ReferencedFile[]): Promise<Claim> {
    const totalBytes = files.reduce((sum, file) => sum + fs.statSync(this.pathOf(file.path)).size, 0);
    return this.store.scanJobs.claim({ lot, build, fileName: log!.file, evidence: '', totalBytes });
  }

  private runScan(request: BuildScan, name: string, claim: Claim | undefined): Promise<BuildReport> {
    const { onProgress, signal } = this.options;
    const signals = [signal, claim?.signal].filter((item) => item !== undefined);
    return scanLog(
      request,
      (progress) => {
        claim?.progress(progress.doneBytes, progress.totalBytes);
        onProgress?.(name, progress);
      },
      signals.length === 0 ? undefined : AbortSignal.any(signals),
    );
  }

  /** The copy was hashed when it was written: what was scanned must be just that. */
  private refuseOtherBytes(files: readonly ReferencedFile[], report: BuildReport): void {
    for (const [at, { path, name }] of files.entries()) {
      const copy = this.options.copies?.get(path);
      if (copy === undefined || copy.sha256 === report.files[at]!.sha256) continue;
      throw new AppError('ALTERED', `the copy of ${name} changed between writing and reading it: is the disk sound?`);
    }
  }

  /** What was logged happened before it was taken in; a log that is on record already was judged when it came. */
  private async refuseTimesAhead(files: readonly ReferencedFile[], report: BuildReport): Promise<void> {
    const notYet = notYetBy(this.store.clock);
    const problems: Problem[] = [];
    for (const [at, { build, sha256, planSha256, lastAt }] of report.files.entries()) {
      const ahead = lastAt === null ? [] : notYet({ file: files[at]!.name, field: 'timestamp', found: lastAt });
      if (ahead.length === 0 || (await this.store.read.logs.isScanned(build, sha256, planSha256))) continue;
      problems.push(...ahead);
    }
    refuse(problems);
  }

  /** A log belongs to one build. The same bytes under another one are a mix-up, not evidence. */
  private async refuseForeignLogs(build: Build, index: number, report: BuildReport, folder: LotFolder): Promise<void> {
    for (const [place, { field }] of logsOf(build).entries()) {
      const other = await this.store.read.logs.buildOf(report.files[place]!.sha256, build.build);
      if (other === undefined) continue;
      throw foreignLog(folder, build, `builds[${index}].${field}.file`, other);
    }
  }
}

/** The same of builds that come in together. */
function refuseLogsTwice(
  folder: LotFolder,
  build: Build,
  index: number,
  { report }: ScannedBuild,
  scanned: readonly ScannedBuild[],
): void {
  for (const [place, { field }] of logsOf(build).entries()) {
    const { sha256 } = report.files[place]!;
    const other = scanned
      .flatMap((one) => one.report.files)
      .find((file) => file.build !== build.build && file.sha256 === sha256);
    if (other !== undefined) throw foreignLog(folder, build, `builds[${index}].${field}.file`, other.build);
  }
}

const foreignLog = (folder: LotFolder, { build }: Build, at: string, other: string): BadInputError =>
  new BadInputError([
    {
      code: 'log-of-another-build',
      file: folder.document.file,
      line: folder.document.lineOf(at),
      field: at,
      found: `the log of build ${other}, byte for byte`,
      expected: `the log of build ${build}`,
      remedy: 'copy the log of this run from the recorder',
    },
  ]);

function refuse(problems: readonly Problem[]): void {
  if (problems.length > 0) throw new BadInputError(problems);
}

const fileAt = (folder: LotFolder, field: string): ReferencedFile | undefined =>
  folder.files.find((file) => file.field === field);

const messageOf = (error: unknown): string => (error instanceof Error ? error.message : String(error)).slice(0, 2000);
