import type { INestApplicationContext } from '@nestjs/common';
import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { proveAtCommand } from '../people/prove-at-command.js';
import { SIGNING_LINES } from '../report/phrases/commands/signing.js';
import { EntryNumber } from '../web/fields.js';
import { SigningModule } from './signing.module.js';
import { StateActs } from './state-acts.js';

export const module = SigningModule;

interface Options {
  readonly entries: string;
  readonly person: string;
  readonly reason: string;
  readonly passwordStdin?: boolean;
}

export async function run(
  context: INestApplicationContext,
  out: Output,
  lot: string,
  options: Options,
): Promise<number> {
  const entries = entriesFrom(options.entries);
  const [proof] = await proveAtCommand(context, [options.person], {
    ...options,
    page: `/lots/${encodeURIComponent(lot)}/changed-verdicts`,
  });
  await context.get(StateActs).lookAtChanges(proof!, lot, entries, options.reason);
  out.object({ lot, entries });
  out.line(SIGNING_LINES.looked(lot, entries));
  return 0;
}

function entriesFrom(text: string): number[] {
  const words = text.split(/[\s,]+/).filter((word) => word !== '');
  const strange = words.find((word) => !EntryNumber.safeParse(word).success);
  if (strange === undefined) return words.map(Number);
  const expected = 'numbers of entries, such as 1204,1207';
  const remedy = 'copy them from "lotwright status"';
  throw new BadInputError([{ code: 'option', field: '--entries', found: strange, expected, remedy }]);
}
