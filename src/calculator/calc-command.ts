import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

/** Its `--help` after a name is that of the calculation. */
export function addCalcCommand(program: Command): void {
  exits(program.command('calc'), { 7: 'no such calculation' })
    .argument('[name]', 'name of the calculation')
    .option('--list', 'prints every name with its purpose')
    .option('--lines', 'takes one JSON object a line and answers one a line')
    .helpOption(false)
    .option('--help', 'fields, units, formula and source of the calculation')
    .description('one calculation: a JSON object from standard input, the answer as JSON')
    .action(bare(() => import('./calc-run.js')));
}
