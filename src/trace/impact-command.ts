import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addImpactCommand(program: Command): void {
  exits(program.command('impact'), {
    3: 'an implant changes its verdict, or a lot could not be assessed again',
    7: 'nothing of that name',
  })
    .argument(
      '<id>',
      'what was off: instrument, method, person, recipe, receipt, load, program… ; kind:key where several are called so',
    )
    .option(
      '--from <time>',
      'last moment at which it was known to be right; of an instrument its last good calibration',
    )
    .option('--to <time>', 'moment at which it was found off')
    .option('--bias <quantity>', 'by how much its values read too much, such as "0.4 mg"')
    .option('--uncertainty <quantity>', 'standard uncertainty that its values have at least')
    .option('--without', 'assess without its results')
    .option('--draft <file>', 'write the impact assessment as a document to complete and take in')
    .option('--pdf <file>', 'the answer as a sealed PDF, for verify to check; a file that is not there yet')
    .addOption(new Option('--format <format>').choices(['table', 'csv', 'json']).default('table'))
    .description('what it means that something was found off afterwards')
    .action(onFolder(() => import('./impact-run.js')));
}
