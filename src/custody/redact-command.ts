import type { Command } from 'commander';
import { exits } from '../cli/exits.js';
import { onFolder } from '../cli/run.js';

export function addRedactCommand(program: Command): void {
  exits(program.command('redact'), { 5: 'refused', 7: 'no such evidence' })
    .argument('<sha256>', 'an evidence file')
    .requiredOption('--person <code>', 'who removes it')
    .requiredOption('--second <code>', 'the other person, of another role')
    .requiredOption('--reason <text>', 'why its bytes must go')
    .option('--password-stdin', 'reads both passwords from standard input, one a line')
    .description('removes the bytes of an evidence file for good; its hash, its name and the act stay')
    .action(onFolder(() => import('./redact-run.js'), { isNoted: false }));
}
