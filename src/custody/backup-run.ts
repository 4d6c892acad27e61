import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
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
  out.line(CUSTODY_LINES.backup(result.file, result.files, result.bytes, withKeys));
  out.line(CUSTODY_LINES.manifest(result.manifestSha256));
  for (const { path, says } of result.damaged) out.line(`  ${CUSTODY_LINES.damaged(path, says)}`);
  return result.damaged.length === 0 ? 0 : 6;
}
