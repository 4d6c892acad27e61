import type { Command } from 'commander';
import { withTable } from '../base/written-table.js';
import { ANY_EXITS, type ExitCodes, ownExits } from './exits.js';

/** Commands that do something: those without subcommands, in the order of `--help`. */
export const leafCommands = (command: Command): Command[] =>
  command.commands.length === 0 ? [command] : command.commands.flatMap(leafCommands);

/** The README with its table of commands made anew. @throws Error when the marks are not there. */
export function withCommandTable(readme: string, program: Command): string {
  const rows = leafCommands(program).map((command) => [
    `\`${usageOf(command)}\``,
    command.description(),
    exitsText({ 0: '', ...ownExits(command) }),
  ]);
  const after = `\nEvery command may end with ${exitsText(ANY_EXITS)}.\n`;
  const heads = ['command', 'does', 'exit code'];
  return withTable(readme, { file: 'README.md', mark: 'commands', rows: [heads, ...rows], after });
}

const exitsText = (codes: ExitCodes): string =>
  Object.entries(codes)
    .map(([code, says]) => `${code} ${says}`.trimEnd())
    .join('; ');

/** Path, arguments and the options that it cannot do without; the others stand in its `--help`. */
function usageOf(command: Command): string {
  const path: string[] = [];
  for (let at = command; at.parent; at = at.parent) path.unshift(at.name());
  const needed = command.options.filter(({ mandatory }) => mandatory).map(({ flags }) => flags);
  return [...path, command.usage().replace('[options]', '').trim(), ...needed].filter((word) => word !== '').join(' ');
}
