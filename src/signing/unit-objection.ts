import type { Assessment, CheckResult, UnitResult } from '../assessment/assessment.js';
import { gatesOpen, stepsAsked } from '../assessment/gates.js';
import type { ReleaseStep } from '../dossier/release-step.js';
import type { Meaning } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf, type WithFates } from '../kinds/lot-after-build.js';
import type { UnitState } from '../lots/unit-states.js';
import type { Objection } from '../report/phrases/objections.js';
import type { CaseUnit } from '../store/entries.js';

/** What would be decided of which units, with what it rests on. */
export interface UnitsToDecide {
  readonly lot: WithFates;
  readonly assessment: Pick<Assessment, 'units' | 'checks'>;
  /** Of every unit of the lot. */
  readonly states: readonly UnitState[];
  readonly meaning: Meaning;
  /** Of a release. */
  readonly step: ReleaseStep | null;
  readonly units: readonly string[];
}

/**
 * Why these units may not be released or rejected now, or undefined. The only place that lets a unit go: it is released
 * once for each step that its route asks for, in their order, and rejected at any time before it may be distributed. It
 * is released only where it is still there, off hold, when nothing in the assessment of exactly this lot file keeps it from
 * the step, and not on a verdict that other rules changed before somebody has looked at that: whoever reviewed the lot
 * file saw another one.
 */
export function unitObjection({ units, ...rest }: UnitsToDecide): Objection | undefined {
  for (const serial of units) {
    const objection = objectionTo(serial, rest);
    if (objection) return objection;
  }
  return undefined;
}

function objectionTo(
  serial: string,
  { lot, assessment, states, meaning, step }: Omit<UnitsToDecide, 'units'>,
): Objection | undefined {
  const state = states.find((one) => one.serial === serial);
  const unit = assessment.units.find((one) => one.serial === serial);
  if (!state || !unit) return { code: 'no unit of the lot', facts: { serial } };
  const gone = fateOf(lot, serial);
  if (gone?.as === 'moved') return { code: 'moved', facts: gone };
  const isGone = state.decision === 'rejected' || state.releasedFor.includes('distribution');
  if (isGone) return { code: 'decided already', facts: { serial, by: state.statement! } };
  if (meaning === 'rejected' || step === null) return undefined;
  return (
    orderOfSteps(unit, state, step) ??
    whatHolds(lot, unit, state, step, assessment.checks) ??
    (state.unseenChanges[0] && {
      code: 'changed verdict',
      facts: { serial, entry: state.unseenChanges[0].entry },
    })
  );
}

function orderOfSteps({ serial, gates }: UnitResult, state: UnitState, step: ReleaseStep): Objection | undefined {
  const steps = stepsAsked(gates);
  if (!steps.includes(step)) return { code: 'step not asked', facts: { serial, step, steps } };
  const by = state.releases.find((release) => release.step === step);
  if (by) return { code: 'decided already', facts: { serial, by } };
  const earlier = steps.slice(0, steps.indexOf(step)).find((one) => !state.releasedFor.includes(one));
  return earlier && { code: 'earlier step open', facts: { serial, step, earlier } };
}

function whatHolds(
  lot: UnitsToDecide['lot'],
  { serial, why, gates, releasableFor, releasable }: UnitResult,
  { hold }: UnitState,
  step: ReleaseStep,
  checks: readonly CheckResult[],
): Objection | undefined {
  const fate = fateOf(lot, serial);
  if (fate) return { code: 'not there', facts: fate };
  if (hold) return { code: 'on hold', facts: { serial, reason: hold.reason } };
  if (releasableFor.includes(step)) return undefined;
  const first = why.find(({ conceded, before }) => !conceded && (step === 'distribution' || before === step));
  if (first) return { code: 'held back', facts: { serial, why: first, checks } };
  if (step === 'sterilisation' || !releasable) return { code: 'does not conform', facts: { serial } };
  return { code: 'gates open', facts: { serial, gates: gatesOpen(gates) } };
}

export interface ReleaseForCase {
  readonly lot: Pick<Lot, 'implants'>;
  readonly units: readonly string[];
  /** Implants that are released already, of whatever lot, by case. */
  readonly releasedFor: ReadonlyMap<string, readonly CaseUnit[]>;
  readonly reason: string | undefined;
}

/**
 * Why these units may not be released together with what is released already, or undefined: a second implant for one case
 * only with a reason, which becomes part of the signed statement.
 */
export function caseObjection({ lot, units, releasedFor, reason }: ReleaseForCase): Objection | undefined {
  if (reason?.trim()) return undefined;
  for (const [code, before] of releasedFor) {
    const now = lot.implants.filter((implant) => implant.case === code && units.includes(implant.serial));
    // One that goes on to its next step is no second one.
    const others = before.filter(({ serial }) => !units.includes(serial));
    if (others.length + now.length > 1) {
      return { code: 'several for a case', facts: { code, before: others, now: now.map(({ serial }) => serial) } };
    }
  }
  return undefined;
}
