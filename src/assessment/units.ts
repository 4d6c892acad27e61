import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import type { Characteristic } from '../kinds/specification.js';
import type { CharacteristicVerdict, CheckResult, Effect, UnitResult, ValueVerdict, Verdict } from './assessment.js';
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
  return facts.lot.body.implants.map(({ serial }) => {
    const own = characteristics.filter((item) => item.unit === serial);
    const counting = own.filter((item) => item.openUntil === null);
    const why = [...reasonsFromValues(facts, counting), ...reasonsFromChecks(checks, serial)].sort(
      (a, b) => ORDER.indexOf(a.effect) - ORDER.indexOf(b.effect),
    );
    const verdict = verdictOf(counting, why);
    return {
      serial,
      verdict,
      // A concession lets a unit go as it is; it turns no verdict.
      releasable: why.every(({ conceded }) => conceded) && (verdict === 'conforms' || why.length > 0),
      why,
      open: own.flatMap(({ characteristic, openUntil }) =>
        openUntil === null ? [] : [{ characteristic, until: openUntil }],
      ),
    };
  });
}

/** A block of release leaves the verdict as it is; a unit of which nothing was planned cannot be decided. */
function verdictOf(counting: readonly CharacteristicVerdict[], why: readonly Why[]): Verdict {
  const effects = why.map(({ effect }): Verdict => (effect === 'blocks release' ? 'conforms' : effect));
  return worstVerdict([...counting.map((item) => item.verdict), ...effects]);
}

function reasonsFromChecks(checks: readonly CheckResult[], serial: string): Why[] {
  return checks.flatMap((check) =>
    check.findings
      .filter((finding) => finding.units.includes(serial) && !isLifted(finding))
      .map(({ id, effect, says, clearedBy, mayBeDecided, decision }) => ({
        effect,
        says,
        clearedBy,
        check: check.code,
        finding: id,
        mayBeDecided,
        conceded: mayBeDecided === 'concession' && decision === 'accepted',
      })),
  );
}

/** Missing values are told by the check *results-complete*; here stand the values that are there, and what a plan says. */
function reasonsFromValues(facts: Facts, verdicts: readonly CharacteristicVerdict[]): Why[] {
  const { characteristics } = facts.specification.body;
  return verdicts.flatMap((verdict) => {
    if (verdict.verdict === 'conforms') return [];
    const item = characteristics.find((candidate) => candidate.characteristic === verdict.characteristic)!;
    const values = verdict.values.filter((value) => tellsWhy(verdict, value)).map((value) => valueReason(item, value));
    if (item.plan === 'every-unit' || verdict.plan.verdict === 'conforms') return values;
    return [planReason(item, verdict), ...values];
  });
}

/** By a plan that looks at all values together, single values explain only a failure. */
function tellsWhy({ verdict, plan }: CharacteristicVerdict, value: ValueVerdict): boolean {
  if (value.row === null || value.role === 'invalid test' || value.verdict === 'conforms') return false;
  return plan.rule === 'every unit' || value.verdict === verdict;
}

function valueReason(item: Characteristic, value: ValueVerdict): Why {
  const where = `${item.title} of ${value.specimen}${value.piece ? `/${value.piece}` : ''}, replicate ${value.replicate}`;
  return reason(
    item,
    value.verdict as Effect,
    `${where}: ${value.value} ${item.ucum}, ${value.why}.`,
    value.verdict === 'does not conform'
      ? 'Quality engineer: open a nonconformity. A repeat counts only under a retest rule approved beforehand.'
      : 'Analyst: give the measurement uncertainty, or measure by a method that can decide.',
  );
}

function planReason(item: Characteristic, { plan }: CharacteristicVerdict): Why {
  return reason(
    item,
    plan.verdict as Effect,
    `${item.title} by ${plan.rule}: ${plan.says}.`,
    plan.verdict === 'does not conform'
      ? 'Quality engineer: open a nonconformity for the units that the sample speaks for.'
      : 'Analyst: complete the sample that the plan asks for.',
  );
}

const reason = (item: Characteristic, effect: Effect, says: string, clearedBy: string): Why => ({
  effect,
  says,
  clearedBy,
  check: 'acceptance',
  finding: digestOf({ check: 'acceptance', characteristic: item.characteristic, says }),
  mayBeDecided: 'no',
  conceded: false,
});
