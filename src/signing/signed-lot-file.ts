import { type Difference, differencesBetween } from '../dossier/difference.js';
import type { Facts } from '../dossier/facts.js';
import { frozenFacts } from '../store/frozen-facts.js';
import type { Reads } from '../store/reads.js';

/**
 * What differs between a lot file that somebody signed and the lot now. One that is not here, or that this version does not
 * read any more, is a difference too: no page fails by it.
 * @param digest of the lot file that was signed.
 */
export async function differencesSince(read: Reads, digest: string, now: Facts): Promise<Difference[]> {
  let before: Facts | undefined;
  try {
    before = await frozenFacts(read, digest);
  } catch {
    return [{ kind: 'changed', what: { code: 'lot file not readable' }, specimens: [] }];
  }
  if (!before) return [{ kind: 'changed', what: { code: 'lot file not here' }, specimens: [] }];
  return differencesBetween(before, now);
}
