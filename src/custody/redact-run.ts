import type { INestApplicationContext } from '@nestjs/common';
import type { Output } from '../cli/output.js';
import { passwordsOf } from '../cli/passwords.js';
import { Accounts } from '../people/accounts.js';
import { PeopleModule } from '../people/people.module.js';
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
  const persons = [options.person, options.second];
  const [first, second] = await passwordsOf(persons, options.passwordStdin === true);
  const accounts = context.get(Accounts);
  const proofs = [await accounts.prove(options.person, first!), await accounts.prove(options.second, second!)] as const;
  const result = await redactEvidence(context.get(Store), sha256, proofs, options.reason);
  out.object(result);
  out.line(CUSTODY_LINES.redacted(sha256));
  return 0;
}
