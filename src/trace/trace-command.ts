import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addTraceCommand(program: Command): void {
  exits(program.command('trace'), {
    6: 'the answer that it is compared with is of another audit trail',
    7: 'nothing of that name',
  })
    .argument('<id>', 'serial, scanned code, lot, heat, receipt, certificate, instrument, person, file, digest…')
    .option('--back', 'only what it came from')
    .option('--forward', 'only what came from it')
    .option('--as-of <time>', 'from what was on record at this moment, such as 2031-03-05T12:00:00Z')
    .option('--from <time>', 'only what was used from this moment on, such as 2031-03-05T12:00:00Z')
    .option('--to <time>', 'only what was used up to this moment')
    .addOption(new Option('--format <format>').choices(['table', 'csv', 'json']).default('table'))
    .option(
      '--since <file>',
      'an answer from before, as PDF or JSON: what is told otherwise now, and whether the audit trail only grew',
    )
    .option('--pdf <file>', 'the answer as a sealed PDF, for verify to check; a file that is not there yet')
    .description('where something came from and where it went')
    .action(onFolder(() => import('./trace-run.js')));
}
