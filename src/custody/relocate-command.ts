import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addRelocateCommand(program: Command): void {
  exits(program.command('relocate'), { 2: 'nothing to move, something there already, or wrong usage' })
    .requiredOption('--to <address>', 'postgresql://role@host:5432/database, with a role that owns nothing')
    .description(
      'moves the database of the data folder to an empty one of a PostgreSQL server and verifies all of it there; LOTWRIGHT_STORE_OWNER names the role that owns the tables',
    )
    .action(bare(() => import('./relocate-run.js')));
}
