import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { SIGNING_LINES } from '../report/phrases/commands/signing.js';
import { SigningModule } from './signing.module.js';
import { WaitingList } from './waiting-list.js';

export const module = SigningModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  options: { person?: string },
): Promise<number> {
  const all = await context.get(WaitingList).all();
  const shown = options.person === undefined ? all : all.filter(({ who }) => who.includes(options.person!));
  out.object({ waiting: shown });
  if (shown.length === 0) out.line(SIGNING_LINES.nothingWaits);
  for (const { title, meaning, step, lot, neededBy, who, thing } of shown) {
    out.line(SIGNING_LINES.waits({ meaning, step }, title, lot === null ? '' : SIGNING_LINES.ofLot(lot, neededBy)));
    out.line(`  ${SIGNING_LINES.who(who)}`);
    out.line(`  "${thing}"`);
  }
  return 0;
}
