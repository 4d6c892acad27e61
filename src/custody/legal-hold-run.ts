import type { INestApplicationContext } from '@nestjs/common';
import type { Command } from 'commander';
import type { Output } from '../cli/output.js';
import { proveAtCommand } from '../people/prove-at-command.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { SigningModule } from '../signing/signing.module.js';
import { StateActs } from '../signing/state-acts.js';

export const module = SigningModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  lot: string,
  options: { person: string; reason: string; passwordStdin?: boolean },
  command: Command,
): Promise<number> {
  const isPlaced = command.name() === 'place';
  const [proof] = await proveAtCommand(context, [options.person], options);
  const acts = context.get(StateActs);
  if (isPlaced) await acts.placeLegalHold(proof!, lot, options.reason);
  else await acts.liftLegalHold(proof!, lot, options.reason);
  out.object({ lot, legalHold: isPlaced });
  out.line(CUSTODY_LINES.legalHold(lot, isPlaced));
  return 0;
}
