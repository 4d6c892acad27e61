import type { Facts } from '../dossier/facts.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { CharacteristicVerdict, CheckResult, Effect, UnitResult, Verdict } from './assessment.js';
import { worstVerdict } from './assessment.js';
import { isLifted } from './checks/check.js';

const ORDER: readonly Effect[] = ['does not conform', 'cannot be decided', 'blocks release'];

type Why = UnitResult['why'][number];

/** The verdict of each implant from its characteristics and from the checks that touch it. */
export function unitResults(
  facts: Facts,
  checks: readonly CheckResult[],
  characteristics: readonly CharacteristicVerdict[],
): UnitResult[] {
  const byUnit = new Map<string, CharacteristicVerdict[]>();
  for (const item of characteristics) byUnit.set(item.unit, [...(byUnit.get(item.unit) ?? []), item]);
  return facts.lot.body.implants.map(({ serial }) => {
    const own = byUnit.get(serial) ?? [];
    const counting = own.filter((item) => item.openUntil === null);
    const why = reasonsFromChecks(checks, serial);
    const effects = why.map(({ effect }): Verdict => (effect === 'blocks release' ? 'conforms' : effect));
    const verdict = worstVerdict([...counting.map((item) => item.verdict), ...effects]);
    return {
      serial,
      verdict,
      // A concession lets a unit go as it is; it turns no verdict. What is used up or kept back goes nowhere.
      releasable:
        fateOf(facts.lot.body, serial) === undefined &&
        why.every(({ conceded }) => conceded) &&
        (verdict === 'conforms' || why.length > 0),
      why,
      open: own.flatMap(({ characteristic, openUntil }) =>
        openUntil === null ? [] : [{ characteristic, until: openUntil }],
      ),
    };
  });
}

/** Every reason against a unit, most severe first. A decision that the finding allows takes it away. */
export function reasonsFromChecks(checks: readonly CheckResult[], serial: string): Why[] {
  return checks
    .flatMap((check) =>
      check.findings
        .filter((finding) => finding.units.includes(serial) && !isLifted(finding))
        .map(({ id, effect, mayBeDecided, decision }) => ({
          effect,
          check: check.code,
          finding: id,
          mayBeDecided,
          conceded: mayBeDecided === 'concession' && decision === 'accepted',
        })),
    )
    .sort((a, b) => ORDER.indexOf(a.effect) - ORDER.indexOf(b.effect));
}
