import type { CheckFinding } from '../../assessment/assessment.js';

/** What would lift a finding of a check, and whether that was signed. */
export function liftText({ mayBeDecided, decision }: Pick<CheckFinding, 'mayBeDecided' | 'decision'>): string {
  if (mayBeDecided === 'no') return 'No decision lifts it, and no concession lets a unit go against it.';
  if (mayBeDecided === 'concession') {
    return 'A nonconformity that names it lets the unit go by a signed concession with its clause; the verdict stays.';
  }
  const what = 'A signed decision lifts it';
  if (decision === null) return `${what}.`;
  return decision === 'half' ? `${what}: one of two has signed.` : `${what}: ${decision}.`;
}

/** Instead of who clears it, where a signed concession lets each of its implants go. */
export const concededText = (units: readonly string[]): string =>
  `A signed concession lets ${units.join(', ')} go although it stands; the verdict stays.`;
