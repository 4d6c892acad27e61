import type { Facts } from '../dossier/facts.js';
import type { Role, Statement } from '../dossier/statement.js';
import { signedOn } from './signed.js';

/** What people decided on a finding: it counts when a process and a quality engineer, two people, signed it. */
export interface Decided {
  /** `half` while one of the two has not signed. */
  readonly outcome: 'accepted' | 'rejected' | 'half';
  readonly statements: readonly Statement[];
}

/** A rejection by either of the two stands; an acceptance needs both. */
export function decisionOn(facts: Facts, finding: { readonly id: string }): Decided | undefined {
  const statements = signedOn(facts, { digest: finding.id }, 'decided');
  if (statements.length === 0) return undefined;
  if (statements.some(({ outcome }) => outcome === 'rejected')) return { outcome: 'rejected', statements };
  const by = (role: Role) => statements.filter(({ person }) => person.role === role).map(({ person }) => person.code);
  const both = by('process engineer').some((one) => by('quality engineer').some((other) => other !== one));
  return { outcome: both ? 'accepted' : 'half', statements };
}
