import type { MessagePort } from 'node:worker_threads';
import { BadInputError, type Problem } from '../errors.js';
import type { BuildReport, BuildScan } from './build-report.js';
import { scanBuild } from './build-scan.js';

export interface ScanTask {
  readonly request: BuildScan;
  /** Where to tell how far the scan has come. */
  readonly progress: MessagePort;
}

/** An error loses its class and facts on the way between threads, so what is wrong with a file is sent as data. */
export type ScanAnswer = { readonly report: BuildReport } | { readonly problems: readonly Problem[] };

/** Runs in a worker thread. */
export default async function scanInThisThread({ request, progress }: ScanTask): Promise<ScanAnswer> {
  try {
    return { report: await scanBuild(request, (state) => progress.postMessage(state)) };
  } catch (error) {
    if (error instanceof BadInputError) return { problems: error.problems };
    throw error;
  } finally {
    progress.close();
  }
}
