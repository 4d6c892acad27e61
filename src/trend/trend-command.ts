import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addTrendCommand(program: Command): void {
  exits(program.command('trend'), { 7: 'no such family or characteristic' })
    .argument('<characteristic>')
    .requiredOption('--family <family>')
    .description('a characteristic of a family over its builds, with limits, performance index and its bound')
    .action(onFolder(() => import('./trend-run.js')));
}
