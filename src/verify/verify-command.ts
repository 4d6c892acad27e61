import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addVerifyCommand(program: Command): void {
  exits(program.command('verify'), {
    0: 'as issued, by the key you trust; or it agrees with itself and no key was given, which is said first',
    2: 'not a record, or wrong usage',
    6: 'altered; or saved again by another program with the same content, which is said apart',
    8: 'nothing altered, but another version made it, and this one assesses differently or cannot compare all of it',
    9: 'of another issuer, or of other people, than the keys given',
  })
    .argument('<file>', 'a PDF record, or a capability statement')
    .option('--key <fingerprint>', 'fingerprint of the installation key that you trust')
    .option(
      '--people <fingerprint>',
      'fingerprint of the key of the first administrator, from which all keys of people lead',
    )
    .option('--evidence <folder>', 'folder with the original files: compared, and logs scanned again')
    .option('--with <file>', 'an earlier record of the lot: its audit trail must be the beginning of this one')
    .option(
      '--anchor <file>',
      'a copy of the anchor of the installation: its first key, and its head where the record tells of it',
    )
    .option('--authority <file>', 'certificates of the authority for time stamps that you trust')
    .description('checks a record offline and assesses it again; needs no data folder')
    .action(bare(() => import('./verify-run.js')));
}
