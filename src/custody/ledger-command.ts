import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare, onFolder } from '../cli/run.js';

/** The audit trail: its signed head, and the check of everything that it records. */
export function addLedgerCommand(program: Command): void {
  const ledger = program.command('ledger').description('the audit trail');

  exits(ledger.command('verify'), { 6: 'something differs', 7: 'no data folder' })
    .option('--evidence', 'hash every file again: evidence, records, archives of raw rows')
    .option('--head <line>', 'a head that was kept outside: proves that the audit trail has only grown since')
    .option('--head-file <file>', 'the same from a file: the line, or the signed note with its cosigners')
    .description(
      'recomputes the audit trail from its entries, holds every stored row against it, and names what differs',
    )
    .action(bare(() => import('./ledger-verify-run.js')));

  exits(ledger.command('head'))
    .option('--note', 'as the signed note that cosigners take, instead of one line')
    .description('one line to keep outside the cell: name of the audit trail, entries, root, signature')
    .action(onFolder(() => import('./ledger-head-run.js')));
}
