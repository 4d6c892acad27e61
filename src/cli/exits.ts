import type { Command } from 'commander';

export type ExitCodes = Readonly<Partial<Record<0 | 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9, string>>>;

/** What any command may end with; `exitCodeOf` gives these for errors that no command expects. */
export const ANY_EXITS: ExitCodes = {
  0: 'done',
  1: 'unexpected, or others keep the data folder or the disk busy',
  2: 'bad input or wrong usage',
  6: 'the data folder was altered or is damaged',
  8: 'something is of a form that only a later version knows',
};

const OWN_EXITS = new WeakMap<Command, ExitCodes>();

/** Declares what a command ends with besides `ANY_EXITS`, or where it means more by it; `--help` and the README show it. */
export function exits(command: Command, own: ExitCodes = {}): Command {
  OWN_EXITS.set(command, own);
  const lines = Object.entries({ ...ANY_EXITS, ...own }).map(([code, says]) => `  ${code}  ${says}`);
  return command.addHelpText('after', `\nExit codes:\n${lines.join('\n')}`);
}

/** @throws Error when the command declares none: each has to. */
export function ownExits(command: Command): ExitCodes {
  const own = OWN_EXITS.get(command);
  if (!own) throw new Error(`the command "${command.name()}" declares no exit codes; wrap it in exits(…)`);
  return own;
}
