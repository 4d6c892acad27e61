import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addTrendCommand(program: Command): void {
  exits(program.command('trend'), { 7: 'no such family or characteristic' })
    .argument('<characteristic>')
    .requiredOption('--family <family>')
    .option('--from <day>', 'first day of closing that the study under the plan looks at')
    .option('--to <day>', 'last day of closing that it looks at')
    .description('a characteristic of a family over its builds, with limits, performance index and its bound')
    .action(onFolder(() => import('./trend-run.js')));
}
