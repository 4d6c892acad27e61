import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addRetentionCommand(program: Command): void {
  exits(program.command('retention'), { 7: 'no such lot' })
    .argument('[lot]', 'one lot with every rule; all lots and the audit trail when absent')
    .description('until when records are kept, and which rule says so')
    .action(onFolder(() => import('./retention-run.js')));
}
