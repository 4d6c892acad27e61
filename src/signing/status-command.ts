import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addStatusCommand(program: Command): void {
  exits(program.command('status'), { 7: 'no such lot' })
    .argument('[lot]', 'one lot; all of them when absent')
    .description('lots, their implants, and what still blocks each')
    .action(onFolder(() => import('./status-run.js')));
}
