import type { Assessment } from '../assessment/assessment.js';
import type { Meaning } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import { fateOf } from '../kinds/lot-after-build.js';
import type { UnitState } from '../lots/unit-states.js';
import type { Objection } from '../report/phrases/objections.js';
import type { CaseUnit } from '../store/entries.js';

/** What would be decided of which units, with what it rests on. */
export interface UnitDecision {
  readonly lot: Pick<Lot, 'fates'>;
  readonly assessment: Pick<Assessment, 'releasable' | 'units' | 'checks'>;
  /** Of every unit of the lot. */
  readonly states: readonly UnitState[];
  readonly meaning: Meaning;
  readonly units: readonly string[];
}

/**
 * Why these units may not be released or rejected now, or undefined. The only place that lets a unit go: a unit is decided
 * once; it may be rejected whatever is known of it, and released only where it is still there, off hold, when nothing in the assessment of exactly
 * this lot file stands in its way, and not on a verdict that other rules changed before somebody has looked at that: whoever
 * reviewed the lot file saw another one.
 */
export function unitObjection({ lot, assessment, states, meaning, units }: UnitDecision): Objection | undefined {
  for (const serial of units) {
    const state = states.find((one) => one.serial === serial);
    if (!state) return { code: 'no unit of the lot', facts: { serial } };
    if (state.decision === 'released' || state.decision === 'rejected') {
      const { person, at } = state.statement!;
      return {
        code: 'decided already',
        facts: { serial, decision: state.decision, name: person.name, code: person.code, at },
      };
    }
    if (meaning === 'rejected') continue;
    const fate = fateOf(lot, serial);
    if (fate) return { code: 'not there', facts: fate };
    if (state.hold) return { code: 'on hold', facts: { serial, reason: state.hold.reason } };
    if (!assessment.releasable.includes(serial)) {
      const why = assessment.units.find((unit) => unit.serial === serial)?.why[0];
      if (!why) return { code: 'does not conform', facts: { serial } };
      return { code: 'held back', facts: { serial, why, checks: assessment.checks } };
    }
    const [change] = state.unseenChanges;
    if (change) return { code: 'changed verdict', facts: { serial, entry: change.entry } };
  }
  return undefined;
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
    if (before.length + now.length > 1) {
      return { code: 'several for a case', facts: { code, before, now: now.map(({ serial }) => serial) } };
    }
  }
  return undefined;
}
