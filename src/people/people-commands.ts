import type { Command } from 'commander';
import { AppError } from '../base/errors.js';
import { exits } from '../cli/exits.js';
import { table } from '../cli/output.js';
import type { Run } from '../cli/run.js';
import { timeText } from '../dossier/time-text.js';
import { linkPath } from './one-time-link.js';

/** Commands about people. Accounts are kept on the pages: here nobody has shown who they are. */
export function addPeopleCommands(program: Command, run: Run): void {
  const people = program.command('people').description('accounts, and the link for the first administrator');
  exits(people.command('list'))
    .description('accounts with their roles')
    .action(() =>
      run(async ({ accounts }, out) => {
        const known = [...(await accounts.people()).values()];
        const lines = known.map(({ person, name, roles, deputies, closedAt }) => ({
          person,
          name,
          roles,
          deputies,
          closed: closedAt !== null,
        }));
        out.object({ people: lines });
        if (lines.length === 0) out.line('Nobody has an account yet. Make the first: lotwright people invite');
        const rows = lines.map((one) => [
          one.person,
          one.name,
          one.closed ? 'closed' : one.roles.join(', ') || 'no role',
        ]);
        for (const row of table(rows)) out.line(row);
        return 0;
      }),
    );
  exits(people.command('invite'), { 5: 'somebody has an account already' })
    .description('a one-time link for the first administrator, while nobody has an account')
    .action(() =>
      run(async ({ accounts }, out) => {
        const link = await accounts.makeFirstLink();
        if (!link) {
          throw new AppError('REFUSED', 'there are accounts already; an administrator makes links on the page /people');
        }
        const path = linkPath(link.token);
        out.object({ path, expiresAt: link.expiresAt });
        out.line(`Open this once, at the address of the service: ${path}`);
        out.line(
          `It runs out at ${timeText(link.expiresAt)}; a newer link, or a start of the service, takes its place.`,
        );
        return 0;
      }),
    );
}
