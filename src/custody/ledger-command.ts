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

  exits(ledger.command('head'), { 5: 'the authority grants no time stamp', 7: 'no such folder of a witness' })
    .option('--note', 'as the signed note that cosigners take, instead of one line')
    .option('--mail <address>', 'as a mail to a witness, ready to be sent')
    .option(
      '--drop <dir>',
      'leaves it as a file in the folder of a witness too; from then on every check compares with it',
    )
    .option('--stamp', 'has it stamped by the authority for time stamps too (RFC 3161)')
    .description('one line to keep outside the cell: name of the audit trail, entries, root, signature')
    .action(onFolder(() => import('./ledger-head-run.js'), { isNoted: false }));

  exits(ledger.command('authority'), { 7: 'no data folder' })
    .argument('[url]', 'its address')
    .option('--certificates <file>', 'certificates in PEM to which its own leads')
    .option('--off', 'no authority any more')
    .description('names the authority that stamps heads with the time (RFC 3161)')
    .action(bare(() => import('./ledger-authority-run.js')));
}
