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
  return { outcome: isByBoth(statements) ? 'accepted' : 'half', statements };
}

function isByBoth(statements: readonly Statement[]): boolean {
  const by = (role: Role) => statements.filter(({ person }) => person.role === role).map(({ person }) => person.code);
  return by('process engineer').some((one) => by('quality engineer').some((other) => other !== one));
}

/** Since when both had accepted; undefined where they have not. */
export function acceptedSince({ outcome, statements }: Decided): string | undefined {
  if (outcome !== 'accepted') return undefined;
  const inOrder = [...statements].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  return inOrder.find((_, index) => isByBoth(inOrder.slice(0, index + 1)))?.at;
}
