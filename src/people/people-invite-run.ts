import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { timeText } from '../dossier/time-text.js';
import { PEOPLE_LINES } from '../report/phrases/commands/people.js';
import { AccountLinks } from './account-links.js';
import { linkPath } from './one-time-link.js';
import { PeopleModule } from './people.module.js';

export const module = PeopleModule;

export async function run(context: INestApplicationContext, out: Output): Promise<number> {
  const link = await context.get(AccountLinks).makeFirstLink();
  if (!link) {
    throw new AppError('REFUSED', 'there are accounts already; an administrator makes links on the page /people');
  }
  const path = linkPath(link.token);
  out.object({ path, expiresAt: link.expiresAt });
  out.line(PEOPLE_LINES.open(path));
  out.line(PEOPLE_LINES.runsOut(timeText(link.expiresAt)));
  return 0;
}
