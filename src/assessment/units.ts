import type { Facts } from '../dossier/facts.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { CharacteristicVerdict, CheckResult, Effect, UnitResult, Verdict } from './assessment.js';
import { worstVerdict } from './assessment.js';
import { isLifted } from './checks/check.js';
import { dueBy, isAwaited } from './due.js';
import { gatesOf, gatesOpen, stepsAsked } from './gates.js';
import { concessionsOf } from './nonconformities.js';

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
  const due = dueBy(facts, 'sterilisation');
  const concessions = concessionsOf(facts);
  return facts.lot.body.implants.map(({ serial }) => {
    const own = byUnit.get(serial) ?? [];
    const counting = own.filter((item) => item.openUntil === null);
    const why = reasonsFromChecks(checks, serial, due, concessions);
    const effects = why.map(({ effect }): Verdict => (effect === 'blocks release' ? 'conforms' : effect));
    const verdict = worstVerdict([...counting.map((item) => item.verdict), ...effects]);
    const gates = gatesOf(facts, serial);
    // A concession lets a unit go as it is; it turns no verdict. What is used up or kept back goes nowhere.
    const mayGo = (against: readonly Why[]) =>
      fateOf(facts.lot.body, serial) === undefined &&
      against.every(({ conceded }) => conceded) &&
      (verdict === 'conforms' || why.length > 0);
    const isFree: Readonly<Record<ReleaseStep, boolean>> = {
      sterilisation: mayGo(why.filter(({ before }) => before === 'sterilisation')),
      distribution: mayGo(why) && gatesOpen(gates).length === 0,
    };
    return {
      serial,
      verdict,
      releasable: mayGo(why),
      why,
      gates,
      releasableFor: stepsAsked(gates).filter((step) => isFree[step]),
      open: own.flatMap(({ characteristic, openUntil }) =>
        openUntil === null ? [] : [{ characteristic, until: openUntil }],
      ),
    };
  });
}

/**
 * Every reason against a unit, most severe first. A decision that the finding allows takes it away.
 * @param due characteristics that are due before sterilisation.
 * @param concessions by nonconformities, as `concessionsOf` gives them.
 */
export function reasonsFromChecks(
  checks: readonly CheckResult[],
  serial: string,
  due: readonly string[],
  concessions: ReturnType<typeof concessionsOf>,
): Why[] {
  return checks
    .flatMap((check) =>
      check.findings
        .filter((finding) => finding.units.includes(serial) && !isLifted(finding))
        .map((finding) => ({
          effect: finding.effect,
          check: check.code,
          finding: finding.id,
          mayBeDecided: finding.mayBeDecided,
          conceded: finding.mayBeDecided === 'concession' && concessions.get(finding.id)?.has(serial) === true,
          before: isAwaited(check.code, finding, due) ? ('distribution' as const) : ('sterilisation' as const),
        })),
    )
    .sort((a, b) => ORDER.indexOf(a.effect) - ORDER.indexOf(b.effect));
}
