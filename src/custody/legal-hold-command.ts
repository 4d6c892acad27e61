import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addLegalHoldCommand(program: Command): void {
  const hold = program.command('legal-hold').description('keeps the records of a lot, whatever their age');
  for (const [name, does] of [
    ['place', 'from now on nothing of the lot may be removed'],
    ['lift', 'the rules of retention count again'],
  ] as const) {
    exits(hold.command(name), { 5: 'refused', 7: 'no such lot' })
      .argument('<lot>')
      .requiredOption('--person <code>', 'who does it')
      .requiredOption('--reason <text>', 'why')
      .option('--password-stdin', 'reads the password from standard input instead of asking')
      .description(does)
      .action(onFolder(() => import('./legal-hold-run.js'), { isNoted: false }));
  }
}
