import { runTelling, type Telling } from '../base/telling-worker.js';
import { WorkerPool } from '../base/worker-pool.js';
import type { BuildReport, BuildScan } from './build-report.js';
import { scanBuild } from './build-scan.js';
import type { OnProgress } from './scan-stream.js';

const pool = new WorkerPool<Telling<BuildScan>, BuildReport>(new URL('./worker.js', import.meta.url));

/**
 * Scans the log of one build in a worker thread, from TypeScript sources in this one with the same result.
 * @param signal ends the scan early; the promise then rejects with an AbortError.
 * @throws BadInputError as `scanBuild`.
 */
export async function scanLog(
  request: BuildScan,
  onProgress: OnProgress = () => {},
  signal?: AbortSignal,
): Promise<BuildReport> {
  return pool.isCompiled ? runTelling(pool, request, onProgress, signal) : scanBuild(request, onProgress, signal);
}
