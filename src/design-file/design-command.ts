import { type Command, Option } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addDesignCommand(program: Command): void {
  exits(program.command('design'), {
    4: 'gaps are open',
    5: 'nothing was taken in: a draft is in it, the name is taken, the change was decided, or the case has no design on record',
    7: 'no such family, baseline or change, or not on record then',
  })
    .argument('<family>')
    .option('--as-of <time>', 'day, to its end (UTC), or moment: what was on record then counts, and nothing later')
    .option(
      '--out <file>',
      'writes the file of the design as PDF; sealed once no gap is open and a baseline is approved',
    )
    .addOption(
      new Option('--order <order>', 'with --out: sections in the order of the design, or of MDR Annex II')
        .choices(['design-history', 'design-annex-ii'])
        .default('design-history'),
    )
    .option('--device-file', 'what the shop floor works by then: approved and in effect, nothing else')
    .option('--ranges', 'which settings, windows and designs its lots have shown so far, and what was measured of them')
    .option('--case <code>', 'with --ranges: where a case lies beside that, and what would have to be shown')
    .option('--touches <change>', 'what a change of the design touches now, both ways')
    .option('--take', 'with --touches: takes the next revision of the change in, with this list')
    .option('--freeze <name>', 'takes a baseline of this name in: what the design consisted of then, by its digests')
    .option(
      '--person <code>',
      'with --freeze or --take: who does it, in the audit trail beside the account of this machine',
    )
    .option('--password-stdin', 'with --person: reads the password from standard input instead of asking')
    .option('--compare <baseline>', 'what differs between a baseline and the design as it stood then')
    .option('--with <baseline>', 'with --compare: between it and another baseline')
    .description('design history of a family: its gaps first, then from each need to what shows that it is met')
    .action(onFolder(() => import('./design-run.js')));
}
