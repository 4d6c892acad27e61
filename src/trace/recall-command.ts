import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addRecallCommand(program: Command): void {
  exits(program.command('recall'), { 0: 'written, and taken in where asked', 5: 'refused', 7: 'nothing of that name' })
    .argument('<id>', 'what is called back: any identifier that trace takes')
    .requiredOption('--code <code>', 'code of the recall; that of a drill begins with DRILL')
    .requiredOption('--trigger <text>', 'what made it necessary')
    .requiredOption('--reason <text>', 'why it is done so')
    .requiredOption(
      '--out <folder>',
      'a folder that is absent or empty, for the document, the draft notices and the list',
    )
    .option('--take', 'take the document in at once: every implant in it is on hold from then on, but for a drill')
    .option(
      '--person <code>',
      'with --take: who calls back; they stand in the audit trail beside the account of this machine',
    )
    .option('--password-stdin', 'with --person: reads the password from standard input instead of asking')
    .option('--drill', 'try it out: no hold, no place changes, and nobody outside is told')
    .option('--aim <hours>', 'the time in which the cell wants to close it')
    .option('--from <time>', 'only what was used from this moment on')
    .option('--to <time>', 'only what was used up to this moment')
    .description('call units back from a trace, or try it out: document, notices by institution, list to reconcile')
    .action(onFolder(() => import('./recall-run.js')));
}
