import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addKeysCommand(program: Command): void {
  const keys = program.command('keys').description('the key with which this installation signs');
  exits(keys.command('list'))
    .description('every key that has signed here, oldest first')
    .action(onFolder(() => import('./keys-list-run.js')));
  exits(keys.command('rotate'))
    .requiredOption('--reason <text>', 'why the key changes')
    .description('a new key in the place of the old one; the audit trail names both. Stop the service first')
    .action(onFolder(() => import('./keys-rotate-run.js')));
}
