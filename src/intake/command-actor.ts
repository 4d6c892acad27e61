import type { INestApplicationContext } from '@nestjs/common';
import { localDay, stamp } from '../base/clock.js';
import { systemActor } from '../cli/run.js';
import { ACCOUNT_EVENTS, accountsFrom, actingRoles } from '../people/account-state.js';
import { Proof } from '../people/proof.js';
import { proveAtCommand } from '../people/prove-at-command.js';
import { refuseAuditor } from '../people/refuse-auditor.js';
import { Store } from '../store/store.js';

/**
 * Who stands in the audit trail for what a command took in: the account of this machine, or the person who proved by a
 * password that it is they, through that account.
 * @throws AppError REFUSED when identifier or password is wrong, or for an auditor, who changes nothing: that is recorded.
 */
export async function actorFrom(
  context: INestApplicationContext,
  options: { readonly person?: string; readonly passwordStdin?: boolean },
): Promise<string> {
  const { person } = options;
  if (person === undefined) return systemActor();
  const store = context.get(Store);
  const [proof] = await proveAtCommand(context, [person], options);
  const accounts = accountsFrom(await store.read.events.ofTypes(ACCOUNT_EVENTS));
  const roles = actingRoles(accounts, person, localDay(stamp(store.clock)));
  const { actor } = proof!;
  if (roles.some(({ role }) => role === 'auditor')) await refuseAuditor(store, { actor, person, act: 'intake' });
  Proof.spend(proof);
  return actor;
}
