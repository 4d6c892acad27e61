import type { TextLimits } from '../../assessment/limits.js';

/** Limits in words: `at least 215`, `0.05 to 0.35`, `at most 100`. */
export function limitsText({ lower, upper }: TextLimits): string {
  if (lower !== undefined && upper !== undefined) return `${lower} to ${upper}`;
  return lower !== undefined ? `at least ${lower}` : `at most ${upper}`;
}
