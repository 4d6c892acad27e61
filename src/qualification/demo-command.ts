import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addDemoCommand(program: Command): void {
  exits(program.command('demo'), { 5: 'refused: the folder holds something else' })
    .description('the invented scenario in a fresh data folder, with the records of its lots')
    .action(bare(() => import('./demo-run.js')));
}
