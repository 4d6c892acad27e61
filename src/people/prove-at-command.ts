import type { INestApplicationContext } from '@nestjs/common';
import { systemClock } from '../base/clock.js';
import { passwordsOf } from '../cli/passwords.js';
import { systemActor } from '../cli/run.js';
import { Store } from '../store/store.js';
import { Proof } from './proof.js';

/**
 * Proofs of the people who act by a command, in their order. Each is asked for their password, and acts through the
 * account of this machine, which stands beside them in the audit trail.
 * @throws AppError REFUSED when identifier or password is wrong, LOCKED after too many attempts.
 */
export const proveAtCommand = (
  context: INestApplicationContext,
  persons: readonly string[],
  options: { readonly passwordStdin?: boolean },
): Promise<Proof[]> => proveOver(context.get(Store), persons, options);

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
