import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

/** Accounts are kept on the pages: here nobody has shown who they are. */
export function addPeopleCommand(program: Command): void {
  const people = program.command('people').description('accounts, and the link for the first administrator');
  exits(people.command('list'))
    .description('accounts with their roles')
    .action(onFolder(() => import('./people-list-run.js'), { isNoted: false }));
  exits(people.command('invite'), { 5: 'somebody has an account already' })
    .description('a one-time link for the first administrator, while nobody has an account')
    .action(onFolder(() => import('./people-invite-run.js'), { isNoted: false }));
  exits(people.command('recover <person>'), {
    5: 'the person is no administrator, or too few people vouch',
    7: 'nobody has an account with this identifier',
  })
    .requiredOption('--reason <text>', 'why the administrator cannot sign in')
    .option('--by <code>', 'somebody else who has a key, and vouches for the administrator')
    .option('--second <code>', 'another such person: two are needed once so many others have had a key')
    .option('--password-stdin', 'reads the passwords of those who vouch from standard input, one a line')
    .description(
      'a one-time link for an administrator who cannot sign in; everybody sees on the first page that it was made',
    )
    .action(onFolder(() => import('./people-recover-run.js'), { isNoted: false }));
}
