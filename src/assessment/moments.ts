import type { Facts } from '../dossier/facts.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type {
  Assessment,
  CharacteristicVerdict,
  CheckFinding,
  CheckResult,
  UnitResult,
  Verdict,
} from './assessment.js';
import { worstVerdict } from './assessment.js';
import { dueBy, isAwaited } from './due.js';
import { MOMENTS, type Moment } from './moment.js';
import { concessionsOf } from './nonconformities.js';
import { reasonsFromChecks } from './units.js';

/** An implant as the checks judge it, without the gates of its route. */
type JudgedUnit = Omit<UnitResult, 'gates' | 'releasableFor'>;

/** What the checks that can be answered by a moment say: may we build, may we sterilise, may we release? */
export interface MomentAnswer {
  readonly moment: Moment;
  readonly checks: readonly CheckResult[];
  readonly units: readonly JudgedUnit[];
  /** Units that nothing holds back at this moment. */
  readonly releasable: readonly string[];
  readonly why: Readonly<Record<string, UnitResult['why']>>;
}

/** Checks that look at values; before the build only the characteristics that are due by then are asked. */
const VALUE_CHECKS = ['results-complete', 'acceptance'];

const isBy = (check: CheckResult, moment: Moment): boolean => MOMENTS.indexOf(check.moment) <= MOMENTS.indexOf(moment);

/** The answer for one moment, from an assessment of the same facts. At release it is the assessment itself. */
export function answerFor(facts: Facts, assessment: Assessment, moment: Moment): MomentAnswer {
  const due = dueBy(facts, moment);
  const checks = moment === 'release' ? assessment.checks : checksBy(assessment, moment, due);
  const units =
    moment === 'release'
      ? assessment.units
      : facts.lot.body.implants.map(({ serial }) => unitBy(facts, serial, checks, assessment.characteristics, due));
  return {
    moment,
    checks,
    units,
    releasable: units.filter((unit) => unit.releasable).map(({ serial }) => serial),
    why: Object.fromEntries(units.map((unit) => [unit.serial, unit.why])),
  };
}

/** Before sterilisation also what later checks know already: only what is due later may still be missing. */
function checksBy({ checks }: Assessment, moment: Moment, due: readonly string[]): CheckResult[] {
  return checks.flatMap((check) => {
    if (isBy(check, moment)) return [check];
    const isAsked = (finding: CheckFinding) =>
      moment === 'build'
        ? VALUE_CHECKS.includes(check.code) && due.includes(finding.facts.characteristic ?? '')
        : !isAwaited(check.code, finding, due);
    const findings = check.findings.filter(isAsked);
    const isOfValues = VALUE_CHECKS.includes(check.code) && due.length > 0;
    return findings.length > 0 || isOfValues ? [withFindings(check, findings)] : [];
  });
}

function withFindings(check: CheckResult, findings: readonly CheckFinding[]): CheckResult {
  const open = findings.every(({ effect }) => effect === 'cannot be decided');
  const outcome = findings.length === 0 ? 'passes' : open ? 'cannot be decided' : 'fails';
  return { ...check, outcome, findings: [...findings] };
}

function unitBy(
  facts: Facts,
  serial: string,
  checks: readonly CheckResult[],
  characteristics: readonly CharacteristicVerdict[],
  due: readonly string[],
): JudgedUnit {
  const why = reasonsFromChecks(checks, serial, due, concessionsOf(facts));
  const own = characteristics.filter((item) => item.unit === serial && due.includes(item.characteristic));
  const effects = why.map(({ effect }): Verdict => (effect === 'blocks release' ? 'conforms' : effect));
  return {
    serial,
    // Nothing is due yet and nothing is known against it: that is what the moment asks.
    verdict: worstVerdict(['conforms', ...own.map((item) => item.verdict), ...effects]),
    releasable: fateOf(facts.lot.body, serial) === undefined && why.every(({ conceded }) => conceded),
    why,
    open: [],
  };
}
