import { AppError } from '../base/errors.js';
import type { Store } from '../store/store.js';

/**
 * Refuses what an auditor tried to change, and records that they tried.
 * @param tried.actor as the audit trail names whoever acts.
 */
export async function refuseAuditor(
  store: Store,
  { actor, person, act }: { readonly actor: string; readonly person: string; readonly act: string },
): Promise<never> {
  const why = 'an auditor reads everything and changes nothing';
  const subject = { kind: 'account', key: person };
  await store.change(actor, (change) =>
    change.events.add({ type: 'act-refused', act, subject, lot: null, person, why }),
  );
  throw new AppError('REFUSED', why);
}
