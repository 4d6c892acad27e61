import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

/** Accounts are kept on the pages: here nobody has shown who they are. */
export function addPeopleCommand(program: Command): void {
  const people = program.command('people').description('accounts, and the link for the first administrator');
  exits(people.command('list'))
    .description('accounts with their roles')
    .action(onFolder(() => import('./people-list-run.js')));
  exits(people.command('invite'), { 5: 'somebody has an account already' })
    .description('a one-time link for the first administrator, while nobody has an account')
    .action(onFolder(() => import('./people-invite-run.js')));
}
