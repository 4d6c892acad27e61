import type { Verdict } from '../../assessment/assessment.js';

/** Verdicts in words: `3 implants: 2 conform, 1 does not conform`. */
export function verdictCounts(verdicts: readonly Verdict[]): string {
  const count = (verdict: Verdict) => verdicts.filter((item) => item === verdict).length;
  const parts = [
    [count('conforms'), 'conforms', 'conform'],
    [count('does not conform'), 'does not conform', 'do not conform'],
    [count('cannot be decided'), 'cannot be decided', 'cannot be decided'],
  ] as const;
  const said = parts.filter(([n]) => n > 0).map(([n, one, many]) => `${n} ${n === 1 ? one : many}`);
  return `${verdicts.length} implant${verdicts.length === 1 ? '' : 's'}: ${said.join(', ')}`;
}
