import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { systemActor } from '../cli/run.js';
import { timeText } from '../dossier/time-text.js';
import { PEOPLE_LINES } from '../report/phrases/commands/people.js';
import { AccountLinks } from './account-links.js';
import { linkPath } from './one-time-link.js';
import { PeopleModule } from './people.module.js';
import { proveAtCommand } from './prove-at-command.js';

export const module = PeopleModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  person: string,
  { reason, by, second, ...options }: { reason: string; by?: string; second?: string; passwordStdin?: boolean },
): Promise<number> {
  const vouching = [by, second].filter((code) => code !== undefined);
  const proofs = vouching.length === 0 ? [] : await proveAtCommand(context, vouching, options);
  const link = await context.get(AccountLinks).recover(person, systemActor(), reason, proofs);
  const path = linkPath(link.token);
  out.object({ path, expiresAt: link.expiresAt });
  out.line(PEOPLE_LINES.open(path));
  out.line(PEOPLE_LINES.recoverRunsOut(timeText(link.expiresAt)));
  return 0;
}
