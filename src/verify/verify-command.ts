import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addVerifyCommand(program: Command): void {
  exits(program.command('verify'), {
    0: 'unaltered',
    6: 'altered',
    8: 'unaltered, but this version assesses differently, or a later one made it',
  })
    .argument('<file>', 'a PDF record')
    .option('--key <fingerprint>', 'fingerprint of the installation key that you trust')
    .option('--evidence <folder>', 'folder with the original files: compared, and logs scanned again')
    .option('--with <file>', 'an earlier record of the lot: its audit trail must be the beginning of this one')
    .description('checks a record offline and assesses it again; needs no data folder')
    .action(bare(() => import('./verify-run.js')));
}
