import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addPrepareCommand(program: Command): void {
  exits(program.command('prepare'), {
    5: 'refused: the case is not open, or design, recipe or specification are not as they must be',
    7: 'no such case',
  })
    .argument('<case>')
    .option(
      '--out <folder>',
      'where the folder goes, which must not be there yet; a folder of the data folder when absent',
    )
    .description('writes a lot folder to fill in for a case, with result sheets and a build sheet to print')
    .action(onFolder(() => import('./prepare-run.js')));
}
