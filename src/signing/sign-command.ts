import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';
import { MEANINGS } from '../dossier/meaning.js';
import { RELEASE_STEPS } from '../dossier/release-step.js';

export function addSignCommand(program: Command): void {
  exits(program.command('sign'), { 5: 'refused', 7: 'no such thing' })
    .argument('<thing...>', 'what is signed: recipe:BP-RECIPE@4, "lot file:L-2026-013"; see "lotwright waiting"')
    .requiredOption('--person <code>', 'who signs')
    .requiredOption('--meaning <meaning>', MEANINGS.join(', '))
    .option('--units <serials>', 'units of the lot, separated by commas: for released and rejected')
    .option('--for <step>', `${RELEASE_STEPS.join(' or ')}: for released`)
    .option('--outcome <outcome>', 'accepted or rejected: for decided')
    .option('--reason <text>', 'rationale of a decision, reason of a rejection or of a second implant for one case')
    .option('--look', 'shows what would be signed and what lies beside it, and signs nothing')
    .option('--seen <text>', 'what --look showed under "seen": nothing is signed when that has changed since')
    .option('--password-stdin', 'reads the password from standard input instead of asking')
    .description(
      'signs as a person: one statement on all that is named, of one kind and one lot; the password is asked for each time',
    )
    .action(onFolder(() => import('./sign-run.js')));
}
