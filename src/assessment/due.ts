import type { Facts } from '../dossier/facts.js';
import type { Characteristic } from '../kinds/specification.js';
import type { CheckFinding } from './assessment.js';
import type { Moment } from './moment.js';

const DUE: Readonly<Record<Moment, readonly Characteristic['due'][]>> = {
  build: ['before-build'],
  sterilisation: ['before-build', 'before-sterilisation'],
  release: ['before-build', 'before-sterilisation', 'before-release', 'after-release'],
};

/** Characteristics whose results are due by a moment. */
export const dueBy = ({ specification }: Pick<Facts, 'specification'>, moment: Moment): string[] =>
  specification.body.characteristics
    .filter((item) => DUE[moment].includes(item.due))
    .map(({ characteristic }) => characteristic);

/**
 * Whether a finding says only that something is not there which is due later: results, or that the sterile load was accepted. What is known against a unit holds it at
 * once, whenever it was due: a value outside its limits does not wait for release.
 * @param due characteristics that are due by now.
 */
export function isAwaited(check: string, { facts }: Pick<CheckFinding, 'facts'>, due: readonly string[]): boolean {
  if (check === 'loads-accepted') return facts.step === 'sterilise';
  const isAbsence = check === 'results-complete' || (check === 'acceptance' && facts.lacks === 'values');
  return isAbsence && !due.includes(facts.characteristic ?? '');
}
