import type { INestApplicationContext } from '@nestjs/common';
import { stamp } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import { systemActor } from '../cli/run.js';
import { ACCOUNT_EVENTS } from '../ledger/event.js';
import { accountsFrom, actingRoles } from '../people/account-state.js';
import { Proof } from '../people/proof.js';
import { proveAtCommand } from '../people/prove-at-command.js';
import { Store } from '../store/store.js';
import { demandMayTakeIn } from './may-take-in.js';

/**
 * Who stands in the audit trail for what a command took in: the account of this machine, or the person who proved by a
 * password that it is they, through that account.
 * @throws AppError REFUSED when identifier or password is wrong, or by the table of authority: that is recorded.
 */
export async function actorFrom(
  context: INestApplicationContext,
  options: { readonly person?: string; readonly passwordStdin?: boolean },
): Promise<string> {
  const { person } = options;
  if (person === undefined) return systemActor();
  const store = context.get(Store);
  const [proof] = await proveAtCommand(context, [person], { ...options, page: '/intake' });
  const accounts = accountsFrom(await store.read.events.ofTypes(ACCOUNT_EVENTS));
  const acting = actingRoles(accounts, person, localDay(stamp(store.clock)));
  const { actor } = proof!;
  await demandMayTakeIn(store, { actor, person, acting });
  Proof.spend(proof);
  return actor;
}
