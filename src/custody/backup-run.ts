import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { Store } from '../store/store.js';
import { makeBackup } from './backup.js';

export async function run(
  context: INestApplicationContext,
  out: Output,
  file: string,
  options: { withKeys?: boolean },
): Promise<number> {
  const withKeys = options.withKeys === true;
  const result = await makeBackup(context.get(Store), file, systemActor(), { withKeys });
  out.object(result);
  out.line(`${result.file}: ${result.files} files, ${result.bytes} bytes, ${withKeys ? 'with keys' : 'without keys'}`);
  out.line(`Manifest ${result.manifestSha256}: keep this line elsewhere, for restore --manifest.`);
  for (const { path, says } of result.damaged) out.line(`  ${path} ${says}; it is in the backup as it was found`);
  return result.damaged.length === 0 ? 0 : 6;
}
