import type { ActingRole } from '../dossier/statement.js';
import { actNamed } from '../people/acts.js';
import { authorityFor } from '../people/authority.js';
import { refuseAct } from '../people/refuse-act.js';
import { denialText } from '../report/phrases/authority.js';
import type { Store } from '../store/store.js';

const TAKE_IN = actNamed('take documents in');

/** Somebody who wants to take documents in, by a page, a program or a command. */
export interface Sender {
  readonly person: string;
  readonly acting: readonly ActingRole[];
  /** As the audit trail names them. */
  readonly actor: string;
}

/** Why a person may not take documents in, by the table of authority; undefined when they may. */
export function whyNotTakeIn({ person, acting }: Pick<Sender, 'person' | 'acting'>): string | undefined {
  const authority = authorityFor(TAKE_IN, { code: person, roles: acting, qualifiedFor: [] }, {});
  return authority.may ? undefined : denialText(authority.why);
}

/** @throws AppError REFUSED when they may not; the refusal is recorded. */
export async function demandMayTakeIn(store: Store, sender: Sender): Promise<void> {
  const why = whyNotTakeIn(sender);
  const { actor, person } = sender;
  if (why !== undefined) await refuseAct(store, { actor, person, act: TAKE_IN.act, why });
}
