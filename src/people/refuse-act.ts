import { AppError } from '../base/errors.js';
import type { Store } from '../store/store.js';

/**
 * Refuses what somebody tried to change, and records that they tried.
 * @param tried.actor as the audit trail names whoever acts.
 */
export async function refuseAct(
  store: Store,
  tried: { readonly actor: string; readonly person: string; readonly act: string; readonly why: string },
): Promise<never> {
  const { actor, person, act, why } = tried;
  const subject = { kind: 'account', key: person };
  await store.change(actor, (change) =>
    change.events.add({ type: 'act-refused', act, subject, lot: null, person, why }),
  );
  throw new AppError('REFUSED', why);
}
