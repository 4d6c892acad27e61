import type { INestApplicationContext } from '@nestjs/common';
import { type Output, table } from '../cli/output.js';
import { PEOPLE_LINES } from '../report/phrases/commands/people.js';
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
  if (lines.length === 0) out.line(PEOPLE_LINES.nobody);
  const rows = lines.map((one) => [
    one.person,
    one.name,
    one.closed ? PEOPLE_LINES.closed : one.roles.join(', ') || PEOPLE_LINES.noRole,
  ]);
  for (const row of table(rows)) out.line(row);
  return 0;
}
