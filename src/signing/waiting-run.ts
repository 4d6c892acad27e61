import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { ABSENT } from '../report/phrases/absent.js';
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
  if (shown.length === 0) out.line('Nothing waits.');
  for (const { title, meaning, lot, neededBy, who, thing } of shown) {
    out.line(`${meaning}: ${title}${lot === null ? '' : ` (lot ${lot}, needed by ${neededBy ?? ABSENT.nobody})`}`);
    out.line(`  may sign: ${who.join(', ') || 'nobody, which is a deadlock: see the page Authority'}`);
    out.line(`  "${thing}"`);
  }
  return 0;
}
