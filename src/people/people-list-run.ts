import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { Accounts } from './accounts.js';
import { PeopleModule } from './people.module.js';

export const module = PeopleModule;

export async function run(context: INestApplicationContext, out: Output): Promise<number> {
  const known = [...(await context.get(Accounts).people()).values()];
  const lines = known.map(({ person, name, roles, deputies, closedAt }) => ({
    person,
    name,
    roles,
    deputies,
    closed: closedAt !== null,
  }));
  out.object({ people: lines });
  if (lines.length === 0) out.line('Nobody has an account yet. Make the first: lotwright people invite');
  const rows = lines.map((one) => [one.person, one.name, one.closed ? 'closed' : one.roles.join(', ') || 'no role']);
  for (const row of table(rows)) out.line(row);
  return 0;
}
