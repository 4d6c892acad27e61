import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addDesignCommand(program: Command): void {
  exits(program.command('design'), { 4: 'gaps are open', 7: 'no such family, or not on record then' })
    .argument('<family>')
    .option('--as-of <time>', 'day, to its end (UTC), or moment: what was on record then counts, and nothing later')
    .description('design history of a family: its gaps first, then from each need to what shows that it is met')
    .action(onFolder(() => import('./design-run.js')));
}
