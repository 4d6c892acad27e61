import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addLookAtCommand(program: Command): void {
  exits(program.command('look-at'), { 5: 'refused', 7: 'no such lot' })
    .argument('<lot>')
    .requiredOption('--entries <numbers>', 'entries of the audit trail, as "lotwright status" names them')
    .requiredOption('--person <code>', 'who looked')
    .requiredOption('--reason <text>', 'what follows from it')
    .option('--password-stdin', 'reads the password from standard input instead of asking')
    .description('marks verdicts that a new version of the program changed as looked at by a quality engineer')
    .action(onFolder(() => import('./look-at-run.js'), { isNoted: false }));
}
