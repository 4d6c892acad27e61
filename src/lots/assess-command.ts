import { type Command, Option } from 'commander';
import { MOMENTS } from '../assessment/moment.js';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addAssessCommand(program: Command): void {
  exits(program.command('assess'), {
    0: 'every implant conforms',
    3: 'one does not conform',
    4: 'one cannot be decided',
    7: 'no such lot',
  })
    .argument('<lot>')
    .addOption(
      new Option('--for <moment>', 'only what can be asked by then: may we build, may we sterilise, may we release?')
        .choices(MOMENTS)
        .default('release'),
    )
    .description('freezes the lot, runs checks and statistics, proposes an outcome for each implant')
    .action(onFolder(() => import('./assess-run.js')));
}
