import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addTrendCommand(program: Command): void {
  exits(program.command('trend'), {
    4: 'no index can be stated, and a statement was asked for',
    7: 'no such family or characteristic, or no signed plan in force for a statement',
  })
    .argument('<characteristic>')
    .requiredOption('--family <family>')
    .option('--from <day>', 'first day of closing that the study under the plan looks at')
    .option('--to <day>', 'last day of closing that it looks at')
    .option(
      '--statement <file>',
      'freezes what is said, and writes it to a file that `verify` computes again: a name that ends in .pdf, as a paper',
    )
    .addOption(new Option('--format <format>').choices(['table', 'csv', 'json']).default('table'))
    .option('--number <number>', 'of a statement that was frozen before, to write that one')
    .description('a characteristic of a family over its builds, with limits, performance index and its bound')
    .action(onFolder(() => import('./trend-run.js')));
}
