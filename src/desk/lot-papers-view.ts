import type { Facts } from '../dossier/facts.js';
import { baselineOfLot } from '../dossier/lot-baseline.js';
import { timeText } from '../dossier/time-text.js';
import { firstClosedAt } from '../kinds/build-chain.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import { recordGoes } from '../lots/lot-line.js';
import { claimWords } from '../report/assessment-words.js';
import { designEntryAddress, designSinceAddress } from '../report/page-addresses.js';
import { LOT_BASELINE } from '../report/phrases/lot-baseline.js';

export interface RecordRow {
  readonly number: string;
  readonly revision: number;
  readonly recordedAt: string;
  readonly fileSha256: string;
  readonly enclosure: string;
  readonly dossierDigest: string;
}

/** What was issued, signed and received for a lot. */
export function lotPapersView({ facts, assessment, dossierSha256 }: AssessedLot, records: readonly RecordRow[]) {
  return {
    dossierSha256,
    asOf: timeText(facts.dossier.asOf.at),
    family: facts.family,
    specification: facts.specification,
    recipes: [...facts.recipes.keys()],
    design: designThen(facts),
    claims: assessment.checks.flatMap((check) =>
      check.claims.map((claim) => ({ ...claim, says: claimWords(claim), at: timeText(claim.at) })),
    ),
    evidence: facts.evidence,
    records: recordLines(records),
  };
}

/** The baseline of the design that was in force when the lot was built. */
function designThen(facts: Facts) {
  const found = baselineOfLot(facts);
  const { label, none, notBuilt, compare, what } = LOT_BASELINE;
  if (found === undefined) return { label, none: firstClosedAt(facts.lot.body) === undefined ? notBuilt : none };
  const { family, name } = found.body;
  return {
    ...{ label, name, compare, what: what(found) },
    href: designEntryAddress(family, { kind: 'baseline', key: `${family}:${name}` }),
    since: designSinceAddress(family, name),
  };
}

/** Latest first. */
export const recordLines = (records: readonly RecordRow[]) =>
  [...records].reverse().map(({ enclosure, ...record }) => ({
    ...record,
    ...recordGoes(enclosure),
    recordedAt: timeText(record.recordedAt),
  }));
