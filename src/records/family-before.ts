import { Assessment } from '../assessment/assessment.js';
import type { Facts } from '../dossier/facts.js';
import type { FamilyBefore } from '../report/family-before.js';
import type { Reads } from '../store/repositories.js';
import { readAs } from './changes-since.js';
import { Enclosure } from './enclosure.js';

/**
 * What the last record said of the family that was issued of a lot built before this one, among the builds that the lot file
 * names; undefined where there is none that this version reads.
 * @param numberOf what a whole record of a lot is called.
 */
export async function familyBefore(
  read: Pick<Reads, 'records' | 'assessments'>,
  { history }: Pick<Facts, 'history'>,
  numberOf: (lot: string) => string,
): Promise<FamilyBefore | undefined> {
  const builds = (history?.characteristics ?? []).flatMap((one) => one.builds);
  const latest = [...builds].sort((a, b) => Date.parse(b.builtAt) - Date.parse(a.builtAt) || (a.lot < b.lot ? 1 : -1));
  for (const lot of new Set(latest.map((build) => build.lot))) {
    const issued = (await read.records.ofLot(lot)).filter(({ number }) => number === numberOf(lot)).at(-1);
    const enclosure = issued && readAs(Enclosure, issued.enclosure);
    if (!enclosure) continue;
    const assessment = readAs(
      Assessment,
      (await read.assessments.byDigest(enclosure.assessmentSha256))?.body ?? 'null',
    );
    if (!assessment) continue;
    const { number, revision } = enclosure.record;
    return {
      record: { number, revision },
      capability: assessment.capability.map(({ characteristic, n, lots, builds: count, mean, sd, ppk, ppkLower }) => ({
        ...{ characteristic, n, lots, builds: count, mean, sd, ppk, ppkLower },
      })),
    };
  }
  return undefined;
}
