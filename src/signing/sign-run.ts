import type { INestApplicationContext } from '@nestjs/common';
import { BadInputError } from '../base/errors.js';
import type { Output } from '../cli/output.js';
import { passwordsOf } from '../cli/passwords.js';
import { Meaning } from '../dossier/statement.js';
import { Accounts } from '../people/accounts.js';
import { Signing } from './signing.js';
import { SigningModule } from './signing.module.js';
import { thingFrom } from './thing.js';

export const module = SigningModule;

interface SignOptions {
  readonly person: string;
  readonly meaning: string;
  readonly units?: string;
  readonly outcome?: string;
  readonly reason?: string;
  readonly passwordStdin?: boolean;
}

const LIST = /[\s,]+/;

export async function run(
  context: INestApplicationContext,
  out: Output,
  things: string[],
  options: SignOptions,
): Promise<number> {
  const request = {
    things: things.map(thingFrom),
    meaning: meaningFrom(options.meaning),
    units: (options.units ?? '').split(LIST).filter((serial) => serial !== ''),
    outcome: outcomeFrom(options.outcome),
    reason: options.reason,
  };
  const [password] = await passwordsOf([options.person], options.passwordStdin === true);
  const proof = await context.get(Accounts).prove(options.person, password!);
  const signed = await context.get(Signing).sign(proof, request);
  out.object({ signed });
  const { statement, digest } = signed;
  const { subjects, person, meaning, at } = statement;
  for (const { kind, key } of subjects) out.line(`${kind} ${key}`);
  out.line(`${meaning} by ${person.name} (${person.role}) at ${at}, statement ${digest.slice(0, 12)}`);
  return 0;
}

function meaningFrom(text: string): Meaning {
  const found = Meaning.safeParse(text);
  if (found.success) return found.data;
  throw badOption('--meaning', text, Meaning.options.join(', '));
}

function outcomeFrom(text: string | undefined): 'accepted' | 'rejected' | undefined {
  if (text === undefined || text === 'accepted' || text === 'rejected') return text;
  throw badOption('--outcome', text, 'accepted or rejected');
}

const badOption = (field: string, found: string, expected: string) =>
  new BadInputError([{ code: 'option', field, found, expected, remedy: 'write one of these' }]);
