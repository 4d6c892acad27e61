import type { LogPart } from '../dossier/schema.js';
import type { BuildReport } from '../process-logs/build-report.js';
import type { Writer } from './writer.js';

/**
 * Records the scan of a build, one row and one entry of the audit trail for each file. What was found is kept with the
 * first file, since of several files it was found in all of them together.
 */
export async function recordBuildLog(
  writer: Writer,
  lot: string,
  { files, part, summaries }: Pick<BuildReport, 'files' | 'part' | 'summaries'>,
): Promise<void> {
  const nothing: LogPart = { build: part.build, findings: [], outlines: [], gaps: [] };
  for (const [index, facts] of files.entries()) {
    if (index === 0) await writer.recordLogScan(lot, facts, part, summaries);
    else await writer.recordLogScan(lot, facts, nothing, []);
  }
}
