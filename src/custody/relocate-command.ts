import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addRelocateCommand(program: Command): void {
  exits(program.command('relocate'), { 2: 'nothing to move, something there already, or wrong usage' })
    .option('--to <address>', 'postgresql://role@host:5432/database, with a role that owns nothing')
    .option('--evidence <address>', 's3+https://host/bucket, with a folder behind it where you want one')
    .description(
      'moves the database of the data folder to an empty one of a PostgreSQL server, or its evidence to an object store, and verifies all of it there; LOTWRIGHT_STORE_OWNER names the role that owns the tables, LOTWRIGHT_EVIDENCE_KEY and LOTWRIGHT_EVIDENCE_SECRET the key of the object store',
    )
    .action(bare(() => import('./relocate-run.js')));
}
