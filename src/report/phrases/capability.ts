import type { CapabilityResult } from '../../assessment/assessment.js';
import type { CapabilityNote, ExclusionReason } from '../../assessment/reasons.js';

/** Why a value of an earlier build does not count. */
export function exclusionText({ code, facts }: ExclusionReason): string {
  switch (code) {
    case 'recipe group':
      return `recipe group ${facts.recipeGroup} is not pooled`;
    case 'machine':
      return `machine ${facts.machine} is not pooled`;
    case 'other method':
      return `measured by ${facts.method}`;
    case 'other revision':
      return `measured by revision ${facts.revision} of ${facts.method}`;
    case 'built before':
      return `built before ${facts.from}`;
    case 'other unit':
      return `recorded in ${facts.ucum}`;
    case 'only a bound':
      return `reported only as ${facts.value}`;
  }
}

/** Which values the pooling rule left out, as a continuation of how many it admitted. */
export function excludedText({ excluded }: Pick<CapabilityResult, 'excluded'>): string {
  if (excluded.length === 0) return ', none left out';
  const reasons = new Map<string, number>();
  for (const { why, values } of excluded) {
    const text = exclusionText(why);
    reasons.set(text, (reasons.get(text) ?? 0) + values);
  }
  return `; left out: ${[...reasons].map(([why, values]) => `${values} (${why})`).join(', ')}`;
}

type Method = NonNullable<CapabilityResult['method']>;

export const BOUND_METHODS: Readonly<Record<Method, string>> = {
  'exact for one limit': 'exact for one limit',
  'conservative for two limits': 'conservative for two limits',
};

/** How index and bound were computed. */
export const capabilityMethodText = (method: Method): string =>
  'Ppk from mean and standard deviation (n − 1) of single values; lower bound from the noncentral t distribution, ' +
  BOUND_METHODS[method];

export function capabilityNoteText({ code, facts }: CapabilityNote): string {
  switch (code) {
    case 'too few for a spread':
      return `${facts.values} earlier value(s): no mean, no spread, no index.`;
    case 'all equal':
      return 'All earlier values are equal: no index.';
    case 'too few for an index':
      return `Only ${facts.values} earlier values: below ${facts.least} no index is stated.`;
    case 'performance, not capability':
      return 'Ppk, not Cpk: it describes what was made and claims no stability.';
    case 'assumes normal values':
      return 'Assumes roughly normal values. Values of one build are not independent; the bound treats them as if they were.';
  }
}
