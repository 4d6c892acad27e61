import type { MessagePort } from 'node:worker_threads';
import { answering } from '../base/worker-answer.js';
import type { BuildScan } from './build-report.js';
import { scanBuild } from './build-scan.js';

export interface ScanTask {
  readonly request: BuildScan;
  /** Where to tell how far the scan has come. */
  readonly progress: MessagePort;
}

/** Runs in a worker thread. */
export default answering(async ({ request, progress }: ScanTask) => {
  try {
    return await scanBuild(request, (state) => progress.postMessage(state));
  } finally {
    progress.close();
  }
});
