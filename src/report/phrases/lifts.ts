import type { CheckFinding } from '../../assessment/assessment.js';

/** What would lift a finding of a check, and whether that was signed. */
export function liftText({ mayBeDecided, decision }: Pick<CheckFinding, 'mayBeDecided' | 'decision'>): string {
  if (mayBeDecided === 'no') return 'No decision lifts it, and no concession lets a unit go against it.';
  const what =
    mayBeDecided === 'decision'
      ? 'A signed decision lifts it'
      : 'A signed concession lets the unit go, its verdict stays';
  if (decision === null) return `${what}.`;
  return decision === 'half' ? `${what}: one of two has signed.` : `${what}: ${decision}.`;
}
