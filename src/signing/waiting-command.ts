import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addWaitingCommand(program: Command): void {
  exits(program.command('waiting'))
    .option('--person <code>', 'only what this person may sign')
    .description('what waits for a signature, and who may give it')
    .action(onFolder(() => import('./waiting-run.js')));
}
