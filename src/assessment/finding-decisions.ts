import type { Facts } from '../dossier/facts.js';
import type { Role, Statement } from '../dossier/statement.js';

/** What people decided on a finding: it counts when a process and a quality engineer, two people, signed it. */
export interface Decided {
  /** `half` while one of the two has not signed. */
  readonly outcome: 'accepted' | 'rejected' | 'half';
  readonly statements: readonly Statement[];
}

/** A rejection by either of the two stands; an acceptance needs both. */
export function decisionOn(facts: Facts, finding: { readonly id: string }): Decided | undefined {
  const statements = decisionsIn(facts.dossier).get(finding.id);
  if (statements === undefined) return undefined;
  if (statements.some(({ outcome }) => outcome === 'rejected')) return { outcome: 'rejected', statements };
  const by = (role: Role) => statements.filter(({ person }) => person.role === role).map(({ person }) => person.code);
  const both = by('process engineer').some((one) => by('quality engineer').some((other) => other !== one));
  return { outcome: both ? 'accepted' : 'half', statements };
}

const known = new WeakMap<Facts['dossier'], ReadonlyMap<string, readonly Statement[]>>();

/** Decisions by what they are on, in one walk: a noisy log has thousands of findings, and each may be decided. */
function decisionsIn(dossier: Facts['dossier']): ReadonlyMap<string, readonly Statement[]> {
  const found = known.get(dossier);
  if (found) return found;
  const decisions = new Map<string, Statement[]>();
  for (const { statement } of dossier.signatures) {
    if (statement.meaning !== 'decided') continue;
    const { digest } = statement.subject;
    const same = decisions.get(digest);
    if (same) same.push(statement);
    else decisions.set(digest, [statement]);
  }
  known.set(dossier, decisions);
  return decisions;
}
