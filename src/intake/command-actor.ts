import type { INestApplicationContext } from '@nestjs/common';
import { localDay, stamp, systemClock } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { passwordsOf } from '../cli/passwords.js';
import { systemActor } from '../cli/run.js';
import { ACCOUNT_EVENTS, accountsFrom, actingRoles, personActorThrough } from '../people/account-state.js';
import { Proof } from '../people/proof.js';
import { Store } from '../store/store.js';

/**
 * Who stands in the audit trail for what a command took in: the account of this machine, or the person who proved by a
 * password that it is they, through that account.
 * @throws AppError REFUSED when identifier or password is wrong, or for an auditor, who changes nothing.
 */
export async function actorFrom(
  context: INestApplicationContext,
  { person, passwordStdin }: { person?: string; passwordStdin?: boolean },
): Promise<string> {
  if (person === undefined) return systemActor();
  const store = context.get(Store);
  const [password] = await passwordsOf([person], passwordStdin === true);
  const proof = await Proof.demand(store, systemClock, person, password!);
  const accounts = accountsFrom(await store.read.events.ofTypes(ACCOUNT_EVENTS));
  const roles = actingRoles(accounts, proof.person, localDay(stamp(store.clock)));
  if (roles.some(({ role }) => role === 'auditor')) {
    throw new AppError('REFUSED', 'an auditor reads everything and changes nothing');
  }
  Proof.spend(proof);
  return personActorThrough(proof.person, systemActor());
}
