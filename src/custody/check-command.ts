import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addCheckCommand(program: Command): void {
  exits(program.command('check'), { 6: 'something is not as it was stored', 7: 'no data folder' })
    .description('looks at the whole data folder: database, audit trail, evidence, records; notes the result')
    .action(bare(() => import('./check-run.js')));
}
