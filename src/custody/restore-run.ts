import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf, systemActor } from '../cli/run.js';
import { restoreBackup } from './restore.js';
import { sayIntegrity } from './say-integrity.js';

export async function run(
  out: Output,
  common: CommonOptions,
  file: string,
  options: { manifest?: string },
): Promise<number> {
  const expected = options.manifest === undefined ? {} : { manifestSha256: options.manifest };
  const result = await restoreBackup(file, dataFolderOf(common), systemActor(), expected);
  out.object(result);
  out.line(`${result.folder}: ${result.files} files of the backup of ${result.madeAt}, all as they were saved.`);
  out.line(`Key ${result.fingerprint}${result.newKey ? ': a new one, since the backup holds no keys' : ''}`);
  sayIntegrity(result.integrity, out);
  return result.integrity.faults.length === 0 ? 0 : 6;
}
