import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addIntakeCommand(program: Command): void {
  exits(program.command('intake'))
    .argument('<folder>', 'a site folder, a lot folder, or a folder that holds both')
    .option('--check', 'read and check everything, store nothing')
    .description('takes documents, results and logs into the data folder')
    .action(onFolder(() => import('./intake-run.js'), { readsMuch: true }));
}
