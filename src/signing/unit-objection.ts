import type { Assessment } from '../assessment/assessment.js';
import type { Meaning } from '../dossier/statement.js';
import type { Lot } from '../kinds/lot.js';
import type { UnitState } from '../lots/unit-states.js';
import { reasonWords } from '../report/assessment-words.js';
import { unseenChangeText } from '../report/phrases/earlier-version.js';
import type { CaseUnit } from '../store/entries.js';

/** What would be decided of which units, with what it rests on. */
export interface UnitDecision {
  readonly assessment: Pick<Assessment, 'releasable' | 'units' | 'checks'>;
  /** Of every unit of the lot. */
  readonly states: readonly UnitState[];
  readonly meaning: Meaning;
  readonly units: readonly string[];
}

/**
 * Why these units may not be released or rejected now, or undefined. The only place that lets a unit go: a unit is decided
 * once; it may be rejected whatever is known of it, and released only off hold, when nothing in the assessment of exactly
 * this lot file stands in its way, and not on a verdict that other rules changed before somebody has looked at that: whoever
 * reviewed the lot file saw another one.
 */
export function unitObjection({ assessment, states, meaning, units }: UnitDecision): string | undefined {
  for (const serial of units) {
    const state = states.find((one) => one.serial === serial);
    if (!state) return `${serial} is no unit of this lot`;
    if (state.decision === 'released' || state.decision === 'rejected') {
      const { person, at } = state.statement!;
      return `${serial} was ${state.decision} by ${person.name} (${person.code}) at ${at} already`;
    }
    if (meaning === 'rejected') continue;
    if (state.hold) return `${serial} is on hold: ${state.hold.reason}`;
    if (!assessment.releasable.includes(serial)) {
      const why = assessment.units.find((unit) => unit.serial === serial)?.why[0];
      if (!why) return `${serial} may not be released: it does not conform`;
      const { says, clearedBy } = reasonWords(assessment.checks)(why);
      return `${serial} may not be released: ${says} ${clearedBy}`;
    }
    const [change] = state.unseenChanges;
    if (change) return unseenChangeText(serial, change.entry);
  }
  return undefined;
}

export interface ReleaseCount {
  readonly lot: Pick<Lot, 'implants' | 'counts'>;
  readonly states: readonly UnitState[];
  readonly units: readonly string[];
  /** Implants that are released already, of whatever lot, by case. */
  readonly releasedFor: ReadonlyMap<string, readonly CaseUnit[]>;
  readonly reason: string | undefined;
}

/**
 * Why these units may not be released together with what is decided already, or undefined: no more units than were counted
 * to decide on, and a second implant for one case only with a reason, which becomes part of the signed statement.
 */
export function countObjection({ lot, states, units, releasedFor, reason }: ReleaseCount): string | undefined {
  const { counts, implants } = lot;
  const decided = states.filter(({ decision }) => decision === 'released' || decision === 'rejected').length;
  if (counts !== undefined && decided + units.length > counts.toDecide) {
    return `${decided + units.length} implants would be released or rejected, and the lot file counts ${counts.toDecide} to decide on; count again`;
  }
  if (reason?.trim()) return undefined;
  for (const [code, before] of releasedFor) {
    const now = implants.filter((implant) => implant.case === code && units.includes(implant.serial));
    const all = [...before.map(({ serial, lot: of }) => `${serial} of lot ${of}`), ...now.map(({ serial }) => serial)];
    if (all.length > 1) {
      return `case ${code} would have ${all.length} released implants (${all.join(', ')}); give the reason why it needs them`;
    }
  }
  return undefined;
}
