import type { BuildReport, BuildScan } from './build-report.js';
import { scanMerged } from './merge/scan-merged.js';
import { type OnProgress, scanFile } from './scan-stream.js';

/**
 * Scans the log of a build in this thread. One CSV file goes the fast way.
 * @throws BadInputError naming what is wrong with a file as a whole.
 */
export async function scanBuild(
  request: BuildScan,
  onProgress?: OnProgress,
  signal?: AbortSignal,
): Promise<BuildReport> {
  const [first, ...more] = request.sources;
  if (first === undefined || first.map !== null || more.length > 0) return scanMerged(request, onProgress, signal);
  const { path, fileName, archive } = first;
  const file = { path, fileName, plan: request.plan, ...(archive === undefined ? {} : { archive }) };
  const { facts, part, summaries, rejections, rejectionsByCode } = await scanFile(file, onProgress, signal);
  return { files: [facts], part, summaries, rows: facts.rows, rejections, rejectionsByCode };
}
