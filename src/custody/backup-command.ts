import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addBackupCommand(program: Command): void {
  exits(program.command('backup'), {
    6: 'something was damaged already; the backup holds it as found',
    7: 'no such folder',
  })
    .argument('<file>', 'the archive to write, on another disk than the data folder')
    .option(
      '--with-keys',
      'the private keys too: then whoever has the backup can sign in the name of this installation',
    )
    .description('writes database, evidence and records into one archive, while others go on working')
    .action(onFolder(() => import('./backup-run.js'), { isNoted: false }));
}
