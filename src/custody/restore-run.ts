import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf, systemActor } from '../cli/run.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { restoreBackup } from './restore.js';
import { integrityInWords, sayIntegrity } from './say-integrity.js';

export async function run(
  out: Output,
  common: CommonOptions,
  file: string,
  options: { manifest?: string },
): Promise<number> {
  const expected = options.manifest === undefined ? {} : { manifestSha256: options.manifest };
  const result = await restoreBackup(file, dataFolderOf(common), systemActor(), expected);
  out.object({ ...result, integrity: integrityInWords(result.integrity) });
  out.line(CUSTODY_LINES.restored(result.folder, result.files, result.madeAt));
  out.line(CUSTODY_LINES.restoredKey(result.fingerprint, result.needsKey));
  sayIntegrity(result.integrity, out);
  return result.integrity.faults.length === 0 ? 0 : 6;
}
