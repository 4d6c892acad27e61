import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { MessageChannel } from 'node:worker_threads';
import { Piscina } from 'piscina';
import { BadInputError } from '../errors.js';
import type { BuildReport, BuildScan } from './build-report.js';
import { scanBuild } from './build-scan.js';
import type { OnProgress } from './scan-stream.js';
import type { ScanAnswer, ScanTask } from './worker.js';

const WORKER_FILE = fileURLToPath(new URL('./worker.js', import.meta.url));
/** An idle worker goes away after this time, so that commands end and a service sleeps. */
const IDLE_MS = 2000;

let pool: Piscina<ScanTask, ScanAnswer> | undefined;

/**
 * Scans the log of one build in a worker thread, so that the service stays responsive; one build at a time, others wait.
 * Run from TypeScript sources, where there is no compiled worker, it scans in this thread with the same result.
 * @param signal ends the scan early; the promise then rejects with an AbortError.
 * @throws BadInputError as `scanBuild`.
 */
export async function scanLog(
  request: BuildScan,
  onProgress: OnProgress = () => {},
  signal?: AbortSignal,
): Promise<BuildReport> {
  if (!existsSync(WORKER_FILE)) return scanBuild(request, onProgress, signal);
  const { port1, port2 } = new MessageChannel();
  port1.on('message', onProgress);
  try {
    const task: ScanTask = { request, progress: port2 };
    const options = signal === undefined ? {} : { signal };
    const answer = await scanPool().run(task, { ...options, transferList: [port2] });
    if ('problems' in answer) throw new BadInputError(answer.problems);
    return answer.report;
  } finally {
    port1.close();
  }
}

function scanPool(): Piscina<ScanTask, ScanAnswer> {
  pool ??= new Piscina<ScanTask, ScanAnswer>({
    filename: WORKER_FILE,
    minThreads: 0,
    maxThreads: 1,
    idleTimeout: IDLE_MS,
    concurrentTasksPerWorker: 1,
  });
  return pool;
}
