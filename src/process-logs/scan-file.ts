import { MessageChannel } from 'node:worker_threads';
import { WorkerPool } from '../base/worker-pool.js';
import type { BuildReport, BuildScan } from './build-report.js';
import { scanBuild } from './build-scan.js';
import type { OnProgress } from './scan-stream.js';
import type { ScanTask } from './worker.js';

const pool = new WorkerPool<ScanTask, BuildReport>(new URL('./worker.js', import.meta.url));

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
  if (!pool.isCompiled) return scanBuild(request, onProgress, signal);
  const { port1, port2 } = new MessageChannel();
  port1.on('message', onProgress);
  try {
    return await pool.run({ request, progress: port2 }, { signal, transferList: [port2] });
  } finally {
    port1.close();
  }
}
