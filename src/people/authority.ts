import type { ActingRole, Role } from '../dossier/statement.js';
import type { Denial, IndependenceRule } from '../report/phrases/authority.js';
import type { Act } from './acts.js';

/** What is known of the person who wants to act, on that day. */
export interface Candidate {
  readonly code: string;
  readonly roles: readonly ActingRole[];
  /** Operations with a signed qualification that covers the day. */
  readonly qualifiedFor: readonly string[];
}

/** Codes of the people who did what, as far as the act's independence rules ask. */
export type Doers = Partial<Readonly<Record<IndependenceRule, readonly string[]>>>;

export type Authority = { readonly may: true; readonly as: ActingRole } | { readonly may: false; readonly why: Denial };

/**
 * Whether a person may perform an act.
 * @param taken roles in which others signed already, where an act needs one signature of each role.
 */
export function authorityFor(act: Act, person: Candidate, doers: Doers, taken: readonly Role[] = []): Authority {
  const no = (why: Denial): Authority => ({ may: false, why });
  if (person.roles.some(({ role }) => role === 'auditor')) return no({ code: 'auditor' });
  const held = person.roles.filter(({ role }) => act.roles.includes(role));
  if (held.length === 0) return no({ code: 'role', facts: { act: act.act, roles: act.roles } });
  for (const rule of act.independence) {
    if (doers[rule]?.includes(person.code)) {
      return no({ code: 'independence', facts: { act: act.act, rule, person: person.code } });
    }
  }
  const open = held.filter(({ role }) => !taken.includes(role));
  if (open.length === 0) {
    const missing = act.roles.filter((role) => !taken.includes(role));
    return no({ code: 'role taken', facts: { held: held[0]!.role, open: missing } });
  }
  if (act.qualification !== null && !person.qualifiedFor.includes(act.qualification)) {
    return no({ code: 'qualification', facts: { person: person.code, qualification: act.qualification } });
  }
  // In their own right before in somebody's place.
  return { may: true, as: open.find(({ deputyFor }) => deputyFor === null) ?? open[0]! };
}
