import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { type Facts, readFacts } from '../dossier/facts.js';
import { type Dossier, readLotFile } from '../dossier/schema.js';
import type { Reads } from './repositories.js';

/** The facts of a lot as they were frozen under this digest; undefined when no such lot file is here. */
export async function frozenFacts(read: Reads, digest: string): Promise<Facts | undefined> {
  const stored = await read.lotFiles.byDigest(digest);
  return stored && factsOfDossier(read, readLotFile(stored.body));
}

/** Why facts that were frozen before cannot be compared with those of now. */
export interface NotComparable {
  readonly why: 'lot file not here' | 'lot file not readable';
  /** Name of the part that is to blame, where a single one is. */
  readonly part: string | null;
}

/** The same for whoever goes on without them: a lot file that is not here, or that this version does not read, is no error. */
export async function frozenFactsOrWhy(read: Reads, digest: string): Promise<Facts | NotComparable> {
  return (await orNotReadable(() => frozenFacts(read, digest))) ?? { why: 'lot file not here', part: null };
}

/** What was read, or that a lot file is in a form that this version does not read, or was altered. */
export async function orNotReadable<T>(work: () => Promise<T>): Promise<T | NotComparable> {
  try {
    return await work();
  } catch (error) {
    const isNotReadable = error instanceof AppError && ['ALTERED', 'LATER_FORM'].includes(error.code);
    if (!isNotReadable && !(error instanceof z.ZodError) && !(error instanceof SyntaxError)) throw error;
    const part = isNotReadable && typeof error.facts.part === 'string' ? error.facts.part : null;
    return { why: 'lot file not readable', part };
  }
}

/** A stored dossier with its parts, read and typed. */
export async function factsOfDossier(read: Reads, dossier: Dossier): Promise<Facts> {
  return readFacts(dossier, await read.lotFiles.parts(dossier.parts.map((part) => part.sha256)));
}
