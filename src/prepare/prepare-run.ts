import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { sayCaseRanges } from '../lots/ranges/say-ranges.js';
import { ShownRanges } from '../lots/ranges/shown-ranges.js';
import { PREPARE_LINES } from '../report/phrases/commands/prepare.js';
import { LotPreparer } from './lot-preparer.js';
import { PrepareModule } from './prepare.module.js';

export const module = PrepareModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  code: string,
  options: { out?: string },
): Promise<number> {
  const written = await context.get(LotPreparer).prepare(code, options.out);
  const ranges = await context.get(ShownRanges).ofCase(code);
  out.object({ ...written, ranges });
  out.line(PREPARE_LINES.written(written.lot, code, written.folder));
  for (const file of written.files) out.line(`  ${file}`);
  out.line(PREPARE_LINES.next);
  out.line('');
  sayCaseRanges(ranges, out);
  return 0;
}
