import type { Facts } from '../dossier/facts.js';
import type { CharacteristicVerdict, CheckResult, Effect, UnitResult, Verdict } from './assessment.js';
import { worstVerdict } from './assessment.js';

const ORDER: readonly Effect[] = ['does not conform', 'cannot be decided', 'blocks release'];

/** The verdict of each implant from its characteristics and from the checks that touch it. */
export function unitResults(
  facts: Facts,
  checks: readonly CheckResult[],
  characteristics: readonly CharacteristicVerdict[],
): UnitResult[] {
  return facts.lot.body.implants.map(({ serial }) => {
    const own = characteristics.filter((item) => item.unit === serial);
    const why = [...reasonsFromValues(facts, own), ...reasonsFromChecks(checks, serial)].sort(
      (a, b) => ORDER.indexOf(a.effect) - ORDER.indexOf(b.effect),
    );
    const verdict = worstVerdict([...own.map((item) => item.verdict), ...why.map(({ effect }) => verdictOf(effect))]);
    return { serial, verdict, releasable: verdict === 'conforms' && why.length === 0, why };
  });
}

/** A block of release leaves the verdict as it is. */
const verdictOf = (effect: Effect): Verdict => (effect === 'blocks release' ? 'conforms' : effect);

function reasonsFromChecks(checks: readonly CheckResult[], serial: string): UnitResult['why'] {
  return checks.flatMap((check) =>
    check.findings
      .filter((finding) => finding.units.includes(serial))
      .map(({ effect, says, clearedBy }) => ({ effect, says, clearedBy, check: check.code })),
  );
}

/** Missing values are told by the check *results-complete*; here stand the values that are there. */
function reasonsFromValues(facts: Facts, verdicts: readonly CharacteristicVerdict[]): UnitResult['why'] {
  const { characteristics } = facts.specification.body;
  return verdicts.flatMap((verdict) => {
    const item = characteristics.find((candidate) => candidate.characteristic === verdict.characteristic)!;
    return verdict.values
      .filter((value) => value.row !== null && value.verdict !== 'conforms')
      .map((value) => ({
        effect: value.verdict as Effect,
        says: `${item.title} of ${value.specimen}${value.piece ? `/${value.piece}` : ''}, replicate ${value.replicate}: ${value.value} ${item.ucum}, ${value.why}.`,
        clearedBy:
          value.verdict === 'does not conform'
            ? 'Quality engineer: open a nonconformity. A repeat counts only under a retest rule approved beforehand.'
            : 'Analyst: give the measurement uncertainty, or measure by a method that can decide.',
        check: 'acceptance',
      }));
  });
}
