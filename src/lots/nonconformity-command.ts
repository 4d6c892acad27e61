import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addNonconformityCommand(program: Command): void {
  exits(program.command('nonconformity'), { 7: 'no such lot or finding' })
    .argument('<lot>')
    .argument('<finding...>', 'findings as status prints them: the first twelve digits or more of each')
    .requiredOption('--person <code>', 'who opens it')
    .description('prints a nonconformity begun from findings of a lot, to complete and take in')
    .action(onFolder(() => import('./nonconformity-run.js')));
}
