import type { Role } from '../dossier/statement.js';
import type { AccountObjection } from '../report/phrases/account-objections.js';

/** Roles whose holder gives or takes a decision on quality. Who keeps the accounts may hold none of them. */
const APART_FROM_ADMINISTRATOR: readonly Role[] = ['quality engineer', 'releaser', 'regulatory', 'auditor'];

/** Roles that a deputy cannot take over: a second administrator is made openly, and an auditor decides nothing. */
const WITHOUT_DEPUTY: readonly Role[] = ['administrator', 'auditor'];

/** Why a person who holds `held` cannot hold `added` as well, or undefined when they can. */
export function roleConflict(held: readonly Role[], added: Role): AccountObjection | undefined {
  if (held.includes(added)) return { code: 'role held', facts: { role: added } };
  const all = [...held, added];
  if (all.includes('auditor') && all.length > 1) return { code: 'auditor and other' };
  const apart = all.find((role) => APART_FROM_ADMINISTRATOR.includes(role));
  if (all.includes('administrator') && apart !== undefined) {
    return { code: 'administrator and quality', facts: { role: apart } };
  }
  return undefined;
}

/** Why nobody can be deputy in this role, or undefined when somebody can. */
export function deputyConflict(role: Role): AccountObjection | undefined {
  return WITHOUT_DEPUTY.includes(role) ? { code: 'role without deputy', facts: { role } } : undefined;
}
