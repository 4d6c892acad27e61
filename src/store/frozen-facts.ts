import { type Facts, readFacts } from '../dossier/facts.js';
import { Dossier } from '../dossier/schema.js';
import type { Reads } from './reads.js';

/** The facts of a lot as they were frozen under this digest; undefined when no such lot file is here. */
export async function frozenFacts(read: Reads, digest: string): Promise<Facts | undefined> {
  const stored = await read.lotFiles.byDigest(digest);
  return stored && factsOfDossier(read, Dossier.parse(JSON.parse(stored.body)));
}

/** A stored dossier with its parts, read and typed. */
export async function factsOfDossier(read: Reads, dossier: Dossier): Promise<Facts> {
  return readFacts(dossier, await read.lotFiles.parts(dossier.parts.map((part) => part.sha256)));
}
