import type { CheckFinding, CheckResult } from '../assessment/assessment.js';
import type { Nonconformity } from '../kinds/nonconformity.js';
import type { Reads } from '../store/repositories.js';

/** What is said of a lot; undefined where it was not assessed. */
type AssessmentOf = (
  lot: string,
) => Promise<{ readonly assessment: { readonly checks: readonly CheckResult[] } } | undefined>;

export interface NeverConceded {
  readonly check: string;
  readonly finding: CheckFinding;
}

/**
 * The first finding that a nonconformity would let its units go against and that no concession repairs (docs/trade.md 2.13),
 * or undefined. A unit that nobody knows has no finding.
 */
export async function neverConceded(
  { entries }: Pick<Reads, 'entries'>,
  assessmentOf: AssessmentOf,
  { touches, findings = [], disposition = [] }: Pick<Nonconformity, 'touches' | 'findings' | 'disposition'>,
): Promise<NeverConceded | undefined> {
  const conceded = disposition.flatMap(({ as, units }) => (as === 'concession' ? units : []));
  if (conceded.length === 0 || findings.length === 0) return undefined;
  const lots = new Set<string>();
  for (const { kind, key } of touches) {
    const implant = kind === 'implant' && conceded.includes(key) ? await entries.current('implant', key) : undefined;
    if (implant) lots.add(implant.body.lot);
  }
  for (const lot of lots) {
    for (const { code, findings: found } of (await assessmentOf(lot))?.assessment.checks ?? []) {
      const finding = found.find(
        ({ id, mayBeDecided, units }) =>
          mayBeDecided === 'no' && findings.includes(id) && units.some((unit) => conceded.includes(unit)),
      );
      if (finding) return { check: code, finding };
    }
  }
  return undefined;
}
