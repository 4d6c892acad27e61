import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { bare } from '../cli/run.js';

export function addChannelMapCommand(program: Command): void {
  exits(program.command('channel-map'))
    .argument('<from>', 'address of an MTConnect agent, or a file with its answer to a probe request')
    .requiredOption('--machine <code>', 'the machine whose log it is')
    .requiredOption('--code <code>', 'code of the channel map')
    .option('--device <name>', 'which device, where the agent has several')
    .description('proposes the channel map of a machine from what its agent declares, as YAML to look at and mend')
    .action(bare(() => import('./channel-map-run.js')));
}
