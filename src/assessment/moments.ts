import type { Facts } from '../dossier/facts.js';
import type { Characteristic } from '../kinds/specification.js';
import type { Assessment, CharacteristicVerdict, CheckResult, UnitResult, Verdict } from './assessment.js';
import { worstVerdict } from './assessment.js';
import { MOMENTS, type Moment } from './moment.js';
import { reasonsFromChecks } from './units.js';

/** What the checks that can be answered by a moment say: may we build, may we sterilise, may we release? */
export interface MomentAnswer {
  readonly moment: Moment;
  readonly checks: readonly CheckResult[];
  readonly units: readonly UnitResult[];
  /** Units that nothing holds back at this moment. */
  readonly releasable: readonly string[];
  readonly why: Readonly<Record<string, UnitResult['why']>>;
}

/** Checks that look at values; before their moment only the characteristics that are due by then are asked. */
const VALUE_CHECKS = ['results-complete', 'acceptance'];

const DUE: Readonly<Record<Moment, readonly Characteristic['due'][]>> = {
  build: ['before-build'],
  sterilisation: ['before-build', 'before-sterilisation'],
  release: ['before-build', 'before-sterilisation', 'before-release', 'after-release'],
};

const isBy = (check: CheckResult, moment: Moment): boolean => MOMENTS.indexOf(check.moment) <= MOMENTS.indexOf(moment);

/** The answer for one moment, from an assessment of the same facts. At release it is the assessment itself. */
export function answerFor(facts: Facts, assessment: Assessment, moment: Moment): MomentAnswer {
  const due = facts.specification.body.characteristics
    .filter((item) => DUE[moment].includes(item.due))
    .map(({ characteristic }) => characteristic);
  const checks = moment === 'release' ? assessment.checks : checksBy(assessment, moment, due);
  const units =
    moment === 'release'
      ? assessment.units
      : facts.lot.body.implants.map(({ serial }) => unitBy(serial, checks, assessment.characteristics, due));
  return {
    moment,
    checks,
    units,
    releasable: units.filter((unit) => unit.releasable).map(({ serial }) => serial),
    why: Object.fromEntries(units.map((unit) => [unit.serial, unit.why])),
  };
}

function checksBy({ checks }: Assessment, moment: Moment, due: readonly string[]): CheckResult[] {
  return checks.flatMap((check) => {
    if (isBy(check, moment)) return [check];
    if (!VALUE_CHECKS.includes(check.code) || due.length === 0) return [];
    return [withFindingsOf(check, due)];
  });
}

/** A check of values cut to the characteristics that are due. */
function withFindingsOf(check: CheckResult, due: readonly string[]): CheckResult {
  const findings = check.findings.filter(({ facts }) => due.includes(facts.characteristic ?? ''));
  const open = findings.every(({ effect }) => effect === 'cannot be decided');
  const outcome = findings.length === 0 ? 'passes' : open ? 'cannot be decided' : 'fails';
  return { ...check, outcome, findings };
}

function unitBy(
  serial: string,
  checks: readonly CheckResult[],
  characteristics: readonly CharacteristicVerdict[],
  due: readonly string[],
): UnitResult {
  const why = reasonsFromChecks(checks, serial);
  const own = characteristics.filter((item) => item.unit === serial && due.includes(item.characteristic));
  const effects = why.map(({ effect }): Verdict => (effect === 'blocks release' ? 'conforms' : effect));
  return {
    serial,
    // Nothing is due yet and nothing is known against it: that is what the moment asks.
    verdict: worstVerdict(['conforms', ...own.map((item) => item.verdict), ...effects]),
    releasable: why.every(({ conceded }) => conceded),
    why,
    open: [],
  };
}
