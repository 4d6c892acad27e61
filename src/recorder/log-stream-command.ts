import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addLogStreamCommand(program: Command): void {
  exits(program.command('log-stream'), { 4: 'observations were lost: the index names them' })
    .argument('<url>', 'address of an MTConnect agent, or of one of its devices')
    .requiredOption('--out <file>', 'name of the recording, without an ending: files of an hour each, and an index')
    .option('--oldest', 'begin with all that the agent still holds, and not with the present')
    .option('--interval <ms>', 'milliseconds between two documents', '1000')
    .option('--heartbeat <ms>', 'after twice so long without a sign of the agent it is asked anew', '10000')
    .option('--count <n>', 'observations in one document at most', '10000')
    .description('records what the agent of a machine observes until it is ended, and goes on where it was cut')
    .action(bare(() => import('./log-stream-run.js')));
}
