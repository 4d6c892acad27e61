import type { Command } from 'commander';
import { AppError } from '../base/errors.js';
import { notNotedText } from '../report/phrases/commands/noted.js';
import type { Store } from '../store/store.js';

const LONGEST = 400;

/**
 * Tells the audit trail what a command at the machine is about to read. Where that cannot be written, as on a full disk or
 * without the key, it says so and goes on.
 */
export async function noteCommand(store: Store, actor: string, command: Command): Promise<void> {
  const asked = askedOf(command).slice(0, LONGEST);
  try {
    await store.change(actor, (change) => change.events.add({ type: 'read-at-machine', asked }));
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    process.stderr.write(`${notNotedText(error.message)}\n`);
  }
}

/** As it could be typed: name, arguments and what differs from the options that it has by itself. */
function askedOf(command: Command): string {
  const options = command.options.flatMap((option) => {
    const name = option.attributeName();
    const value: unknown = command.getOptionValue(name);
    if (value === undefined || command.getOptionValueSource(name) === 'default') return [];
    return [option.long ?? name, ...(value === true ? [] : [String(value)])];
  });
  const { parent } = command;
  const name = parent?.parent ? `${parent.name()} ${command.name()}` : command.name();
  return [name, ...command.args, ...options].join(' ');
}
