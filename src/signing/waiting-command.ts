import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addWaitingCommand(program: Command): void {
  exits(program.command('waiting'))
    .option('--person <code>', 'only what this person may sign or type')
    .description('what waits for a signature or for a second person to type it, and who may')
    .action(onFolder(() => import('./waiting-run.js')));
}
