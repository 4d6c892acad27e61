import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare, onFolder } from '../cli/run.js';

export function addKeysCommand(program: Command): void {
  const keys = program.command('keys').description('the key with which this installation signs');
  exits(keys.command('list'))
    .description('every key that has signed here, oldest first')
    .action(onFolder(() => import('./keys-list-run.js'), { isNoted: false }));
  exits(keys.command('rotate'))
    .requiredOption('--reason <text>', 'why the key changes')
    .description('a new key in the place of the old one; the audit trail names both. Stop the service first')
    .action(onFolder(() => import('./keys-rotate-run.js'), { isNoted: false }));
  exits(keys.command('replace'), { 5: 'refused' })
    .requiredOption('--person <code>', 'who vouches for the new key')
    .requiredOption('--second <code>', 'the other person; one of the two is an administrator')
    .requiredOption('--reason <text>', 'how the key was lost')
    .option('--password-stdin', 'reads both passwords from standard input, one a line')
    .description('a new key in the place of a lost one, by two people. Until then nothing can be signed')
    .action(bare(() => import('./keys-replace-run.js')));
  exits(keys.command('anchor'), { 5: 'refused' })
    .option(
      '--also <file or URL>',
      'from now on heads are appended to this file too: on another disk, or at an address where one can only append',
    )
    .option('--renew', 'two people accept the audit trail as it is, after an older one was put back on purpose')
    .option('--person <code>', 'with --renew: who accepts it')
    .option('--second <code>', 'with --renew: the other person; one of the two is an administrator')
    .option('--reason <text>', 'with --renew: why it is right as it is')
    .option('--password-stdin', 'reads both passwords from standard input, one a line')
    .description('what to print and keep elsewhere: the first key, the key in use, and the head of the audit trail')
    .action(bare(() => import('./keys-anchor-run.js')));
  exits(keys.command('lock'))
    .option('--off', 'takes the passphrase off instead')
    .option('--passphrase-stdin', 'reads the new passphrase from standard input')
    .description('a passphrase without which the key signs nothing; it is asked for when the service starts')
    .action(onFolder(() => import('./keys-lock-run.js'), { isNoted: false }));
}
