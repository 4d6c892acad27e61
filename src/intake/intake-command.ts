import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addIntakeCommand(program: Command): void {
  exits(program.command('intake'), { 5: 'refused' })
    .argument('<folder>', 'a site folder, a lot folder, or a folder that holds both')
    .option('--check', 'read and check everything, store nothing')
    .option('--person <code>', 'who takes it in: they stand in the audit trail beside the account of this machine')
    .option('--password-stdin', 'reads the password from standard input instead of asking')
    .description('takes documents, results and logs into the data folder')
    .action(onFolder(() => import('./intake-run.js'), { readsMuch: true, isNoted: false }));
}
