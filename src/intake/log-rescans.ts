import { Injectable } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import { logsOf } from '../kinds/log-files.js';
import type { Build, Lot } from '../kinds/lot.js';
import type { BuildReport } from '../process-logs/build-report.js';
import { buildRequest, type ScanDocuments } from '../process-logs/build-request.js';
import { scanLog } from '../process-logs/scan-file.js';
import { sidecarsOf } from '../process-logs/units-sidecar.js';
import { underLease } from '../store/leases.js';
import type { StoredLog } from '../store/logs.js';
import type { ScanJob } from '../store/scan-job-rows.js';
import type { Claim } from '../store/scan-jobs.js';
import { Store } from '../store/store.js';
import { scanDocuments } from './scan-documents.js';

/** How often the service looks for scans that nobody works on. */
const LOOK_MS = 5_000;
const ACTOR = 'program';

/**
 * Scans logs again from the evidence: when somebody asks for it on the page, and when a process that scanned was killed.
 * The work is a function of evidence and plan, so that doing it twice gives the same.
 */
@Injectable()
export class LogRescans {
  private timer: NodeJS.Timeout | undefined;
  private working: Promise<void> = Promise.resolve();
  private isClosed = false;
  private readonly stop = new AbortController();

  constructor(private readonly store: Store) {}

  /**
   * Asks for a scan of the stored log of a build.
   * @returns number of the scan; that of the open one when there is one.
   * @throws NotFoundError when there is no such log.
   */
  async ask(lot: string, build: string): Promise<number> {
    const log = await this.logOf(lot, build);
    const totalBytes = log.files.reduce((sum, { bytes }) => sum + bytes, 0);
    const { fileName, sha256 } = log.facts;
    const id = await this.store.scanJobs.ask({ lot, build, fileName, evidence: sha256, totalBytes });
    if (this.timer !== undefined) this.look();
    return id;
  }

  /** From now on takes up what waits, and what a killed process left. */
  start(): void {
    this.timer = setInterval(() => this.look(), LOOK_MS);
    this.timer.unref();
    this.look();
  }

  /** Ends the scan that runs; the next start takes it up again. */
  async close(): Promise<void> {
    this.isClosed = true;
    clearInterval(this.timer);
    this.stop.abort();
    await this.working;
  }

  /** Does all that is left to do. What fails is noted with the scan, for the page. */
  async runLeft(): Promise<void> {
    for (const job of await this.store.scanJobs.left()) {
      if (this.isClosed) return;
      await this.takeUp(job);
    }
  }

  private look(): void {
    // One after another: a look that finds the last one still at work waits for it.
    this.working = this.working.then(() => this.runLeft()).catch(() => undefined);
  }

  private async takeUp(job: ScanJob): Promise<void> {
    // Others may have ended it while the scans before it ran.
    if (await this.store.scanJobs.hasEnded(job.id)) return;
    const { lot, build, fileName, evidence, totalBytes } = job;
    const log = await this.logOf(lot, build).catch(() => undefined);
    if (evidence === '' || log === undefined) {
      const says =
        'the program that took the folder in was ended; nothing of this log was stored: take the folder in again';
      await this.store.scanJobs.giveUp(job.id, says);
      return;
    }
    const claim = await this.store.scanJobs.claimIfFree({ lot, build, fileName, evidence, totalBytes });
    if (claim === undefined) return;
    try {
      await underLease(claim.lease, () => this.scan(lot, build, log, claim));
      await claim.end('done');
    } catch (error) {
      // Not ended when the service closes: its lease runs out, and the next start takes it up.
      if (this.isClosed) await claim.release();
      else if ((error as Error).name === 'AbortError') await claim.end('cancelled');
      else await claim.end('failed', (error as Error).message.slice(0, 2000));
    }
  }

  private async scan(lotCode: string, buildCode: string, log: StoredLog, claim: Claim): Promise<void> {
    const lot = (await this.store.read.entries.currentOrThrow('lot', lotCode)).body;
    const build = lot.builds.find((item) => item.build === buildCode);
    if (build === undefined) throw new NotFoundError('build', buildCode);
    const archives = log.files.map(() => this.store.archives.begin());
    try {
      const report = await this.runScan(lot, build, log, archives, claim);
      await this.store.change(ACTOR, async (change) => {
        const { sha256, planSha256 } = report.files[0]!;
        if (!(await change.logs.isScanned(buildCode, sha256, planSha256))) await change.logs.add(lotCode, report);
        for (const [index, begun] of archives.entries()) {
          const made = { evidence: report.files[index]!.sha256, sha256: this.store.archives.digestOf(begun) };
          await change.logs.nameArchive(made);
        }
      });
      for (const [index, begun] of archives.entries()) {
        await this.store.archives.settle(begun, report.files[index]!.sha256);
      }
      refuseOtherFindings(log, report);
    } finally {
      for (const begun of archives) this.store.archives.drop(begun);
    }
  }

  private async runScan(
    lot: Lot,
    build: Build,
    log: StoredLog,
    archives: readonly string[],
    claim: Claim,
  ): Promise<BuildReport> {
    const fields = logsOf(build).map(({ field }) => field);
    if (fields.length !== log.files.length) {
      throw new AppError('CONFLICT', 'the lot names other log files than were scanned: take the lot folder in again');
    }
    const { evidence } = this.store;
    const paths: string[] = [];
    for (const { sha256, fileName } of log.files) {
      if (await evidence.tombstone(sha256)) {
        throw new AppError('REFUSED', `the bytes of ${fileName} were removed from the evidence`);
      }
      paths.push(await evidence.pathOf(sha256));
    }
    const request = buildRequest(lot, build, await this.documentsOf(lot, log), (field) => {
      const at = fields.indexOf(field);
      return { path: paths[at]!, archive: archives[at]! };
    });
    return scanLog(
      request,
      ({ doneBytes, totalBytes }) => claim.progress(doneBytes, totalBytes),
      AbortSignal.any([this.stop.signal, claim.signal]),
    );
  }

  private async documentsOf(lot: Lot, log: StoredLog): Promise<ScanDocuments> {
    const { entries } = this.store.read;
    const documents = await scanDocuments(lot, async (...revision) => (await entries.revision(...revision))?.body);
    return { ...documents, sidecars: sidecarsOf(log.files) };
  }

  private async logOf(lot: string, build: string): Promise<StoredLog> {
    const found = (await this.store.read.logs.ofLot(lot)).find((log) => log.facts.build === build);
    if (found === undefined) throw new NotFoundError('log of build', build);
    return found;
  }
}

/** The same evidence by the same plan must give the same; if it does not, another version of the scanner made the first. */
function refuseOtherFindings({ facts, part }: StoredLog, report: BuildReport): void {
  const [again] = report.files;
  if (again!.planSha256 !== facts.planSha256 || digestOf(part) === digestOf(report.part)) return;
  throw new AppError(
    'CONFLICT',
    `${again!.scanner} finds otherwise than ${facts.scanner} did; what was stored stays, since the same plan is recorded once`,
  );
}
