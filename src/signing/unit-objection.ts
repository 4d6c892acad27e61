import type { Assessment } from '../assessment/assessment.js';
import type { Meaning } from '../dossier/statement.js';
import type { UnitState } from './unit-states.js';

/**
 * Why these units may not be released or rejected now, or undefined. The only place that lets a unit go: a unit is decided
 * once; it may be rejected whatever is known of it, and released only off hold and when nothing in the assessment of exactly
 * this lot file stands in its way.
 * @param states of every unit of the lot.
 */
export function unitObjection(
  assessment: Pick<Assessment, 'releasable' | 'units'>,
  states: readonly UnitState[],
  meaning: Meaning,
  units: readonly string[],
): string | undefined {
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
      return `${serial} may not be released: ${why ? `${why.says} ${why.clearedBy}` : 'it does not conform'}`;
    }
  }
  return undefined;
}
