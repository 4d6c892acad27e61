import type { INestApplicationContext } from '@nestjs/common';
import { stringify } from 'yaml';
import type { Output } from '../cli/output.js';
import { LotsModule } from './lots.module.js';
import { NonconformityStarts } from './nonconformity-start.js';

export const module = LotsModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  lot: string,
  findings: string[],
  { person }: { person: string },
): Promise<number> {
  const started = await context.get(NonconformityStarts).of(lot, findings, person);
  out.object(started);
  out.line(stringify(started).trimEnd());
  return 0;
}
