import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addResultsCommand(program: Command): void {
  exits(program.command('results'), { 7: 'no such lot' })
    .argument('<lot>')
    .addOption(new Option('--format <format>').choices(['table', 'csv', 'json']).default('table'))
    .description('every value of a lot with its unit, uncertainty, instrument, person, sheet and line')
    .action(onFolder(() => import('./results-run.js')));
}
