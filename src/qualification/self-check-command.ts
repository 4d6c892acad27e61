import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

/** Whoever accepts a version of the program tries it first. */
export function addSelfCheckCommand(program: Command): void {
  exits(program.command('self-check'), { 6: 'something does not hold' })
    .option('--out <file>', 'where the signed report goes, as evidence for the acceptance of this version')
    .description('tries the installed program: published numbers, a scenario, attacks on it, a backup and its restore')
    .action(onFolder(() => import('./self-check-run.js'), { readsMuch: true, isNoted: false }));
}
