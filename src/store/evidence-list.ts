import type { EvidenceRef } from '../dossier/schema.js';

/** Evidence as a lot file lists it: each file once, as it is named first, in the order of the digests. */
export function evidenceList(named: readonly EvidenceRef[]): EvidenceRef[] {
  const found = new Map<string, EvidenceRef>();
  for (const { sha256, fileName, bytes, use } of named) {
    if (!found.has(sha256)) found.set(sha256, { sha256, fileName, bytes, use });
  }
  return [...found.values()].sort((a, b) => (a.sha256 < b.sha256 ? -1 : 1));
}
