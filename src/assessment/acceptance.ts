import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { acceptanceSet, type LeftOut, leftOutResults, type SetValue } from './acceptance-set.js';
import { type CharacteristicVerdict, counts, type PlanVerdict, type ValueVerdict, worstVerdict } from './assessment.js';
import { meanOf } from './averaging.js';
import { guardedLimits, type Judgement, judgeValue } from './judge-value.js';
import { missingValues } from './missing-values.js';
import { everyUnit } from './plans/every-unit.js';
import { pooledValidation } from './plans/process-validation.js';
import type { Sample, SampleValue } from './plans/sample.js';
import { singleSampling } from './plans/single-sampling.js';
import { toleranceInterval } from './plans/tolerance-interval.js';
import { variables } from './plans/variables.js';
import { zeroAcceptance } from './plans/zero-acceptance.js';
import type { GapReason, SpecimenGap, ValueReason, VerdictNote } from './reasons.js';
import { type Rework, ReworkHistory } from './reworks.js';
import { indexResults, type NumberedResult, type ResultIndex, specimensFor, specimensOfPlan } from './specimens.js';
import { type StudyLimits, strictestOf, studyLimits } from './study-limits.js';
import { validationFault } from './validations.js';

/** The values of one specimen: as they print, and as a plan counts them. */
interface JudgedSpecimen {
  readonly shown: readonly ValueVerdict[];
  readonly counted: readonly SampleValue[];
  /** What is missing, or measured otherwise than planned. */
  readonly gaps: readonly SpecimenGap[];
}

/** Verdicts of every implant in every planned characteristic, in the order of the lot file and of the specification. */
export function acceptAll(facts: Facts): CharacteristicVerdict[] {
  const index = indexResults(facts);
  const leftOut = leftOutResults(facts);
  const history = new ReworkHistory(facts);
  const { characteristics } = facts.specification.body;
  const judges = characteristics.map((item) => new CharacteristicJudge(facts, item, index, { leftOut, history }));
  return facts.lot.body.implants.flatMap((implant) => judges.map((judge) => judge.accept(implant)));
}

/** What happened to values and parts before they are judged. */
interface Past {
  readonly leftOut: LeftOut;
  readonly history: ReworkHistory;
}

/** Judges one characteristic; each specimen once for all implants that it speaks for and that were reworked alike. */
class CharacteristicJudge {
  private readonly judged = new Map<string, JudgedSpecimen>();
  private readonly plans = new Map<string, PlanVerdict>();
  /** By coupon; one that reads as the implant is not there. */
  private readonly limits: ReadonlyMap<string, StudyLimits | GapReason>;

  constructor(
    private readonly facts: Facts,
    private readonly item: Characteristic,
    private readonly index: ResultIndex,
    private readonly past: Past,
  ) {
    const coupons = item.measuredOn === 'coupon' ? facts.lot.body.coupons : [];
    const found = coupons.map(({ coupon, study }) => [coupon, studyLimits(facts, item, study)] as const);
    this.limits = new Map(found.flatMap(([coupon, limits]) => (limits === undefined ? [] : [[coupon, limits]])));
  }

  accept(implant: Implant): CharacteristicVerdict {
    const { facts, item } = this;
    const specimens = specimensOfPlan(facts, implant, item, this.index, this.past.history);
    const judged = specimens.map((specimen) => this.specimen(specimen, implant));
    const plan = this.plan(implant, specimens, judged);
    const values = judged.flatMap(({ shown }) => shown);
    const verdict = worstVerdict([plan.verdict, ...this.ownFailure(implant)]);
    return {
      characteristic: item.characteristic,
      unit: implant.serial,
      verdict,
      values,
      ...this.acceptanceLimits(
        specimens,
        judged.flatMap(({ counted }) => counted),
      ),
      plan,
      openUntil: this.openUntil(implant, values),
      notes: this.notes(specimens, values),
    };
  }

  private specimen(specimen: string, implant: Implant): JudgedSpecimen {
    const wanted = this.reworksOf(specimen, implant);
    const key = `${specimen} ${nameOf(wanted)}`;
    const known = this.judged.get(key);
    if (known) return known;
    const fresh = this.judge(specimen, wanted);
    this.judged.set(key, fresh);
    return fresh;
  }

  private judge(specimen: string, wanted: readonly Rework[]): JudgedSpecimen {
    const { leftOut: invalid, history } = this.past;
    const set = acceptanceSet(this.facts, specimen, this.item, this.index, { invalid, history, wanted });
    const now = history.of(specimen, this.item.characteristic);
    // It was reworked otherwise, and nothing was measured on it while it was as the implant is: it speaks no more.
    if (nameOf(now) !== nameOf(wanted) && !set.some((value) => value.result && counts(value)))
      return { shown: this.shownAside(set), counted: [], gaps: [] };
    return this.item.averaging === 'mean' ? this.judgeMean(specimen, set) : this.judgeSingle(set);
  }

  /** What the implant went through, or a specimen that speaks for itself. */
  private reworksOf(specimen: string, { serial }: Implant): readonly Rework[] {
    const { characteristic, measuredOn } = this.item;
    return this.past.history.of(measuredOn === 'implant' ? specimen : serial, characteristic);
  }

  private shownAside(set: readonly SetValue[]): ValueVerdict[] {
    return set.filter(({ result }) => result).map((value) => this.shown(value, this.judgement(value)));
  }

  private judgeSingle(set: readonly SetValue[]): JudgedSpecimen {
    const rows = set.map((value) => ({ value, shown: this.shown(value, this.judgement(value)) }));
    const counted = rows
      .filter(({ value }) => value.leftOut === undefined)
      .map(({ value, shown }) => ({
        specimen: value.specimen,
        verdict: shown.verdict,
        reported: value.result && !this.obstacle(value.result) ? readReported(value.result.value) : undefined,
        standardUncertainty: value.result?.standardUncertainty ?? '',
      }));
    return { shown: rows.map(({ shown }) => shown), counted, gaps: this.gaps(set) };
  }

  /** The specification declares that the mean of the replicates is judged: one judgement for all of them. */
  private judgeMean(specimen: string, set: readonly SetValue[]): JudgedSpecimen {
    const counting = set.filter((value) => value.leftOut === undefined);
    const results = counting.flatMap(({ result }) => (result ? [result] : []));
    const trouble = this.noMeanBecause(set, counting, results);
    if (trouble !== undefined) {
      const open: Judgement = { verdict: 'cannot be decided', compared: '', why: trouble };
      return {
        shown: set.map((value) => this.shown(value, value.result || value.leftOut ? open : MISSING)),
        counted: [{ specimen, verdict: 'cannot be decided', reported: undefined, standardUncertainty: '' }],
        gaps: [{ specimen, reasons: [trouble] }],
      };
    }
    const mean = meanOf(results.map((result) => result.value));
    const uncertainty = largestUncertainty(results);
    const judged = this.byLimits(specimen, mean, uncertainty);
    const why = { ...judged.why, facts: { ...judged.why.facts, meanOf: results.length } } as ValueReason;
    return {
      shown: set.map((value) => this.shown(value, { ...judged, why })),
      counted: [{ specimen, verdict: judged.verdict, reported: readReported(mean), standardUncertainty: uncertainty }],
      gaps: [],
    };
  }

  private noMeanBecause(
    set: readonly SetValue[],
    counting: readonly SetValue[],
    results: readonly NumberedResult[],
  ): GapReason | undefined {
    if (results.length < counting.length || results.length === 0) {
      return { code: 'incomplete', facts: missingValues(numbered(set)) };
    }
    const obstacle = results.map((result) => this.obstacle(result)).find((reason) => reason !== undefined);
    if (obstacle) return obstacle;
    const censored = results.find((result) => readReported(result.value).qualifier !== '');
    return censored && { code: 'bound in a mean', facts: { value: censored.value } };
  }

  private gaps(set: readonly SetValue[]): SpecimenGap[] {
    const facts = missingValues(numbered(set));
    const others = set.flatMap(({ result, leftOut }) =>
      !result || leftOut !== undefined ? [] : (this.obstacle(result) ?? []),
    );
    const reasons: GapReason[] = [...(facts.missing === 0 ? [] : [{ code: 'incomplete' as const, facts }]), ...others];
    return reasons.length === 0 ? [] : [{ specimen: set[0]!.specimen, reasons }];
  }

  private judgement({ result }: SetValue): Judgement {
    if (!result) return MISSING;
    const obstacle = this.obstacle(result);
    if (obstacle === undefined) return this.byLimits(result.specimen, result.value, result.standardUncertainty);
    return { verdict: 'cannot be decided', compared: result.value, why: obstacle };
  }

  /** By the limits of the specification, or by those that a study moved for the coupon. */
  private byLimits(specimen: string, value: string, standardUncertainty: string): Judgement {
    const limits = this.studyLimits(specimen);
    if (limits === undefined) return judgeValue(this.item, value, standardUncertainty);
    const { why, ...judged } = judgeValue(this.item, value, standardUncertainty, limits);
    const { lower, upper, study } = limits;
    const moved = { ...(lower === undefined ? {} : { lower }), ...(upper === undefined ? {} : { upper }), study };
    return {
      ...judged,
      why: why.code === 'only a bound' ? why : ({ ...why, facts: { ...why.facts, moved } } as ValueReason),
    };
  }

  private studyLimits(specimen: string): StudyLimits | undefined {
    const found = this.limits.get(specimen);
    return found === undefined || 'code' in found ? undefined : found;
  }

  /** What keeps a value from being judged as it was reported. */
  private obstacle(result: NumberedResult): GapReason | undefined {
    if (!this.byPlannedMethod(result)) return this.otherMethod(result);
    const limits = this.limits.get(result.specimen);
    return limits !== undefined && 'code' in limits ? limits : undefined;
  }

  private shown(value: SetValue, judgement: Judgement): ValueVerdict {
    const { result, specimen, piece, replicate, role, leftOut } = value;
    return {
      row: result?.row ?? null,
      specimen,
      piece,
      replicate,
      value: result?.value ?? '',
      ...judgement,
      why: leftOut ?? judgement.why,
      role,
    };
  }

  /** A value speaks for a characteristic only when it was measured as the specification says. */
  private byPlannedMethod(result: NumberedResult): boolean {
    const { method, revision } = this.item.method;
    return result.method === method && Number(result.methodRevision) === revision;
  }

  private otherMethod({ row, method, methodRevision }: NumberedResult): GapReason {
    return { code: 'other method', facts: { row, method, revision: methodRevision } };
  }

  private plan(implant: Implant, specimens: readonly string[], judged: readonly JudgedSpecimen[]): PlanVerdict {
    const alike = this.item.measuredOn === 'coupon' ? nameOf(this.reworksOf('', implant)) : '';
    const key = [implant.build, ...specimens, alike].join(' ');
    const known = this.item.plan === 'every-unit' ? undefined : this.plans.get(key);
    if (known) return known;
    const units = this.facts.lot.body.implants.filter((other) => other.build === implant.build).length;
    const sample: Sample = {
      item: this.itemOf(specimens),
      units,
      values: judged.flatMap(({ counted }) => counted),
      gaps: judged.flatMap(({ gaps }) => gaps),
    };
    const fresh = this.decide(sample, implant);
    this.plans.set(key, fresh);
    return fresh;
  }

  /** With the strictest of the limits that hold for the specimens: a plan judges them together. */
  private itemOf(specimens: readonly string[]): Characteristic {
    const limits = specimens.flatMap((specimen) => this.studyLimits(specimen) ?? []);
    return limits.length === 0 ? this.item : { ...this.item, ...strictestOf(this.item, limits) };
  }

  private decide(sample: Sample, implant: Implant): PlanVerdict {
    const { plan } = this.item;
    if (plan === 'every-unit') return everyUnit(sample);
    switch (plan.rule) {
      case 'zero-acceptance':
        return zeroAcceptance(plan, sample);
      case 'single-sampling':
        return singleSampling(plan, sample);
      case 'variables':
        return variables(plan, sample);
      case 'tolerance-interval':
        return toleranceInterval(plan, sample);
      case 'process-validation':
        return pooledValidation(plan, sample, this.facts, this.closedAt(implant));
    }
  }

  /**
   * A unit does not pass on the strength of its neighbours: what was measured on it, or on the coupons that stand for it,
   * fails it whatever the plan says of the build. Only a plan that allows failing coupons lets their units pass.
   */
  private ownFailure(implant: Implant): CharacteristicVerdict['verdict'][] {
    const { plan, measuredOn } = this.item;
    if (plan === 'every-unit') return [];
    if (plan.rule === 'single-sampling' && measuredOn === 'coupon') return [];
    const own = specimensFor(this.facts, implant, this.item, this.past.history).flatMap((specimen) =>
      this.index.of(specimen, this.item.characteristic).length === 0 ? [] : this.specimen(specimen, implant).counted,
    );
    return own.some((value) => value.verdict === 'does not conform') ? ['does not conform'] : [];
  }

  private closedAt(implant: Implant): string {
    return this.facts.lot.body.builds.find((build) => build.build === implant.build)?.closedAt ?? '';
  }

  /** Until when a result that is due after release may be missing; null when it holds up release or is there. */
  private openUntil(implant: Implant, values: readonly ValueVerdict[]): string | null {
    const { due, relies, dueWithinDays } = this.item;
    if (due !== 'after-release' || relies === undefined || dueWithinDays === undefined) return null;
    const counting = values.filter(counts);
    if (counting.length > 0 && counting.every((value) => value.row !== null)) return null;
    if (counting.some((value) => value.row !== null && value.verdict !== 'conforms')) return null;
    const build = this.facts.lot.body.builds.find((item) => item.build === implant.build);
    if (!build || validationFault(this.facts, relies, build.closedAt) !== undefined) return null;
    return new Date(Date.parse(build.openedAt) + dueWithinDays * DAY_MS).toISOString();
  }

  /** Limits after guard bands; the limits themselves where the rule is simple or the uncertainties differ. */
  private acceptanceLimits(
    specimens: readonly string[],
    values: readonly SampleValue[],
  ): Pick<CharacteristicVerdict, 'acceptFrom' | 'acceptTo'> {
    const item = this.itemOf(specimens);
    const { decision, lower = null, upper = null } = item;
    const [only, ...others] = new Set(values.map((value) => value.standardUncertainty));
    if (decision.rule === 'simple' || !only || others.length > 0) return { acceptFrom: lower, acceptTo: upper };
    const studies = specimens.flatMap((specimen) => this.studyLimits(specimen) ?? []);
    const most = (side: 'lowerUncertainty' | 'upperUncertainty') => Math.max(0, ...studies.map((one) => one[side]));
    const uncertain = { lowerUncertainty: most('lowerUncertainty'), upperUncertainty: most('upperUncertainty') };
    const zone = guardedLimits({ ...item, ...uncertain }, Number(decision.confidence), Number(only));
    return { acceptFrom: zone.acceptFrom ?? null, acceptTo: zone.acceptTo ?? null };
  }

  private notes(specimens: readonly string[], values: readonly ValueVerdict[]): VerdictNote[] {
    const studies = specimens.flatMap((specimen) => this.studyLimits(specimen)?.study ?? []);
    const applied = new Map(studies.map((study) => [study.study, study]));
    const present = values.filter((value) => value.row !== null);
    const rows = new Set(present.map((value) => value.row!));
    const without = [...rows].filter((row) => this.facts.results[row - 1]!.standardUncertainty === '').length;
    return [
      ...(without > 0 ? [{ code: 'uncertainty not stated' as const, facts: { without, values: rows.size } }] : []),
      ...(this.item.averaging === 'mean' ? [{ code: 'mean judged' as const, facts: {} }] : []),
      ...[...applied.values()].map((study) => ({ code: 'study applied' as const, facts: study })),
    ];
  }
}

const numbered = (set: readonly SetValue[]) => set.map((value) => ({ ...value, row: value.result?.row ?? null }));

/** Two of these are the same where the steps are. */
const nameOf = (reworks: readonly Rework[]): string =>
  reworks.map(({ by, step }) => `${by} ${step.step} ${step.at}`).join();

const DAY_MS = 86_400_000;

const MISSING: Judgement = { verdict: 'cannot be decided', compared: '', why: { code: 'missing', facts: {} } };

/** Common parts of an uncertainty do not average out: the largest one counts for the mean. */
function largestUncertainty(results: readonly NumberedResult[]): string {
  const stated = results.map((result) => result.standardUncertainty);
  if (stated.includes('')) return '';
  return stated.reduce((largest, next) => (Number(next) > Number(largest) ? next : largest));
}
