import type { Assessment } from '../assessment/assessment.js';
import { type Difference, differencesBetween } from '../dossier/difference.js';
import type { Facts } from '../dossier/facts.js';
import { changesBetween, readEarlier } from '../lots/earlier-assessment.js';
import { changedVerdictText } from '../report/phrases/earlier-version.js';
import { frozenFactsOrWhy } from '../store/frozen-facts.js';
import type { Reads } from '../store/repositories.js';

/**
 * What differs between a lot file that somebody signed and the lot now. One that is not here, or that this version does not
 * read any more, is a difference too: no page fails by it.
 * @param digest of the lot file that was signed.
 */
export async function differencesSince(read: Reads, digest: string, now: Facts): Promise<Difference[]> {
  const before = await frozenFactsOrWhy(read, digest);
  if ('why' in before) return [{ kind: 'changed', what: { code: before.why }, specimens: [] }];
  return differencesBetween(before, now);
}

/**
 * Verdicts that differ between an assessment that lay before somebody and that of now, in words.
 * @param digest of the assessment of then.
 * @returns undefined when it is not here.
 */
export async function verdictsSince(read: Reads, digest: string, now: Assessment): Promise<string[] | undefined> {
  const before = await read.assessments.byDigest(digest);
  if (!before) return undefined;
  const { implants, checks } = changesBetween(readEarlier(before.body), now);
  return implants.map((implant) => changedVerdictText({ ...implant, checks }));
}
