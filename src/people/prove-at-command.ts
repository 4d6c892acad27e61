import type { INestApplicationContext } from '@nestjs/common';
import { systemClock } from '../base/clock.js';
import { passwordsOf } from '../cli/passwords.js';
import { systemActor } from '../cli/run.js';
import { Store } from '../store/store.js';
import { PasskeyError } from './passkeys/passkey-fault.js';
import { Proof } from './proof.js';

interface CommandOptions {
  readonly passwordStdin?: boolean;
  /** Where the same is done on a page, which can ask for a passkey: whoever has one is led there. */
  readonly page?: string;
}

/**
 * Proofs of the people who act by a command, in their order. Each is asked for their password, and acts through the
 * account of this machine, which stands beside them in the audit trail and in the place of a passkey where there is no page.
 * @throws AppError REFUSED when identifier or password is wrong, LOCKED after too many attempts; PasskeyError REFUSED for
 * whoever has a passkey, where a page does the same.
 */
export const proveAtCommand = async (
  context: INestApplicationContext,
  persons: readonly string[],
  options: CommandOptions,
): Promise<Proof[]> => {
  const { page } = options;
  const owners = page === undefined ? [] : await context.get(Store).read.events.passkeys();
  if (page !== undefined && owners.some(({ person }) => persons.includes(person))) {
    throw new PasskeyError({ code: 'needed at page', facts: { page } });
  }
  return proveOver(context.get(Store), persons, options);
};

/** The same over a store that a command opens by itself. */
export async function proveOver(
  store: Store,
  persons: readonly string[],
  { passwordStdin = false }: { readonly passwordStdin?: boolean },
): Promise<Proof[]> {
  const passwords = await passwordsOf(persons, passwordStdin);
  const proofs: Proof[] = [];
  for (const [index, person] of persons.entries()) {
    proofs.push(await Proof.demand(store, systemClock, person, passwords[index]!, { through: systemActor() }));
  }
  return proofs;
}
