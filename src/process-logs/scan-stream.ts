import { BadInputError } from '../base/errors.js';
import type { LogFacts } from '../dossier/schema.js';
import { ArchiveWriter } from './archive/archive-writer.js';
import { behindLastLine, MemberCutter } from './archive/member-cutter.js';
import type { ScanPlan } from './plan.js';
import { LogScanner, SCANNER } from './scanner.js';
import type { TextScan } from './text-scan.js';
import { gzipProblem, type TextRead, TextSource } from './text-source.js';

export interface ScanRequest {
  readonly path: string;
  /** Name of the file as the person knows it, for messages and for the record. */
  readonly fileName: string;
  readonly plan: ScanPlan;
  /** Where it is written down, while they are read, which raw rows stand where; it is not when absent. */
  readonly archive?: string;
}

/** What a scan says of a file: what the dossier keeps, and counts for the one who took it in. */
export interface ScanReport extends Omit<TextScan, 'planSha256' | 'rows' | 'rejectedRows' | 'channelFacts'> {
  readonly facts: LogFacts;
}

/** How far a scan has come. Bytes are those of the files as they came. */
export interface ScanProgress {
  readonly rows: number;
  readonly doneBytes: number;
  readonly totalBytes: number;
}

export type OnProgress = (progress: ScanProgress) => void;

/**
 * Scans one log, plain or gzip, in this thread.
 * @param signal ends the scan at the next chunk; the promise then rejects with an AbortError.
 * @throws BadInputError naming what is wrong with the file as a whole; single bad lines are in the report.
 */
export async function scanFile(
  request: ScanRequest,
  onProgress?: OnProgress,
  signal?: AbortSignal,
): Promise<ScanReport> {
  const { path, fileName, plan } = request;
  const scanner = new LogScanner(plan, fileName);
  const source = await TextSource.open(path);
  const archive =
    request.archive === undefined ? undefined : await ArchiveWriter.create(request.archive, source.isGzip);
  try {
    await feed(scanner, source, archive, plan.clockOffsetMs * 1000, onProgress, signal);
    const text = scanner.end();
    await archive?.finish('csv');
    return asReport(text, request, await source.finish());
  } catch (error) {
    await archive?.abandon();
    const problem = gzipProblem(error, fileName, scanner.rows);
    throw problem === undefined ? error : new BadInputError([problem]);
  } finally {
    await source.close();
  }
}

async function feed(
  scanner: LogScanner,
  source: TextSource,
  archive: ArchiveWriter | undefined,
  clockOffsetUs: number,
  onProgress: OnProgress | undefined,
  signal: AbortSignal | undefined,
): Promise<void> {
  const cutter = new MemberCutter(behindLastLine);
  const take = async (pieces: readonly Uint8Array[]) => {
    for (const piece of pieces) {
      const line = scanner.linesRead + 1;
      const fromUs = recorderTime(scanner, clockOffsetUs);
      scanner.push(piece);
      await archive!.add(piece, { line, fromUs, toUs: recorderTime(scanner, clockOffsetUs) });
    }
  };
  for await (const chunk of source.chunks()) {
    signal?.throwIfAborted();
    if (archive === undefined) scanner.push(chunk);
    else await take(cutter.push(chunk));
    onProgress?.({ rows: scanner.rows, doneBytes: source.doneBytes, totalBytes: source.totalBytes });
  }
  await take(cutter.end());
}

function recorderTime({ latestUs }: LogScanner, clockOffsetUs: number): number | null {
  return Number.isNaN(latestUs) ? null : latestUs - clockOffsetUs;
}

function asReport(
  { planSha256, rows, rejectedRows, channelFacts, ...rest }: TextScan,
  { fileName, plan }: ScanRequest,
  { textSha256, sha256, bytes }: TextRead,
): ScanReport {
  const facts = {
    build: plan.build,
    fileName,
    sha256,
    textSha256,
    bytes,
    rows,
    rejectedRows,
    firstAt: rest.firstAt,
    lastAt: rest.lastAt,
    scanner: SCANNER,
    planSha256,
    clockOffsetMs: plan.clockOffsetMs,
    channels: [...channelFacts],
  };
  return { ...rest, facts };
}
