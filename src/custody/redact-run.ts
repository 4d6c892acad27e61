import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { PeopleModule } from '../people/people.module.js';
import { proveAtCommand } from '../people/prove-at-command.js';
import { CUSTODY_LINES } from '../report/phrases/commands/custody.js';
import { Store } from '../store/store.js';
import { redactEvidence } from './redaction.js';

export const module = PeopleModule;

export async function run(
  context: INestApplicationContext,
  out: Output,
  sha256: string,
  options: { person: string; second: string; reason: string; passwordStdin?: boolean },
): Promise<number> {
  const [first, second] = await proveAtCommand(context, [options.person, options.second], options);
  const result = await redactEvidence(context.get(Store), sha256, [first!, second!], options.reason);
  out.object(result);
  out.line(CUSTODY_LINES.redacted(sha256));
  return 0;
}
