import type { INestApplicationContext } from '@nestjs/common';
import { AppError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { timeText } from '../dossier/time-text.js';
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
  out.line(`Open this once, at the address of the service: ${path}`);
  out.line(`It runs out at ${timeText(link.expiresAt)}; a newer link, or a start of the service, takes its place.`);
  return 0;
}
