import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addRestoreCommand(program: Command): void {
  exits(program.command('restore'), { 6: 'the backup was altered', 7: 'no such file' })
    .argument('<file>', 'a backup')
    .option('--manifest <sha256>', 'what the backup said when it was made')
    .description('unpacks a backup into the data folder, which must be empty, and verifies all of it')
    .action(bare(() => import('./restore-run.js')));
}
