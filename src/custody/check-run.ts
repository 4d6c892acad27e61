import type { Output } from '../cli/output.js';
import { type CommonOptions, dataFolderOf, systemActor } from '../cli/run.js';
import { DataFolder } from '../store/data-folder.js';
import { checkFolder } from './integrity.js';
import { integrityInWords, sayIntegrity } from './say-integrity.js';

export async function run(out: Output, common: CommonOptions): Promise<number> {
  const report = await checkFolder(DataFolder.existing(dataFolderOf(common)), systemActor());
  out.object(integrityInWords(report));
  sayIntegrity(report, out);
  return report.faults.length === 0 ? 0 : 6;
}
