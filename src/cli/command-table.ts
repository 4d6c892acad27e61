import type { Command } from 'commander';
import { ANY_EXITS, type ExitCodes, ownExits } from './exits.js';

const BEGIN = '<!-- commands: written by npm run docs -->';
const END = '<!-- /commands -->';

/** Commands that do something: those without subcommands, in the order of `--help`. */
export const leafCommands = (command: Command): Command[] =>
  command.commands.length === 0 ? [command] : command.commands.flatMap(leafCommands);

/** The README with its table of commands made anew. @throws Error when the markers are not there. */
export function withCommandTable(readme: string, program: Command): string {
  const [begin, end] = [readme.indexOf(BEGIN), readme.indexOf(END)];
  if (begin === -1 || end < begin) throw new Error(`README.md needs a line "${BEGIN}" and after it "${END}"`);
  return `${readme.slice(0, begin)}${BEGIN}\n${commandTable(program)}${readme.slice(end)}`;
}

function commandTable(program: Command): string {
  const rows = leafCommands(program).map((command) => [
    `\`${usageOf(command)}\``,
    command.description(),
    exitsText({ 0: '', ...ownExits(command) }),
  ]);
  const lines = [['command', 'does', 'exit code'], ['---', '---', '---'], ...rows].map(rowText);
  return `${lines.join('\n')}\n\nEvery command may end with ${exitsText(ANY_EXITS)}.\n`;
}

const rowText = (cells: readonly string[]): string =>
  `| ${cells.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;

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
