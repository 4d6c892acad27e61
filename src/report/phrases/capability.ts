import type { CapabilityResult } from '../../assessment/assessment.js';
import type { CapabilityNote } from '../../assessment/reasons.js';
import type { ExclusionReason } from '../../dossier/pool.js';
import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import { RUN_RULE_MEANING, type RunRule } from '../../statistics/run-rules.js';

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
      return 'reported only as a bound';
    case 'zone class':
      return `zone class ${facts.zoneClass} is not pooled`;
  }
}

/** Which values the pooling rule left out, and how many a decision took out, as a continuation of how many there are. */
export function excludedText({ excluded, takenOut }: Pick<CapabilityResult, 'excluded' | 'takenOut'>): string {
  const left = excluded.map(({ why, values }) => `${values} (${exclusionText(why)})`);
  const out = takenOut.values === 0 ? [] : [`${takenOut.values} (taken out by a signed decision)`];
  const all = [...left, ...out];
  return all.length === 0 ? ', none left out' : `; left out: ${all.join(', ')}`;
}

/** The values that a signed decision took out, by name; empty without any. */
export function takenOutText({ takenOut }: Pick<CapabilityResult, 'takenOut'>): string {
  const { values, last } = takenOut;
  const named = last.map(
    ({ lot, specimen, piece, replicate, value, cause, decidedBy }) =>
      `${value} of ${specimenText({ specimen, piece })} replicate ${replicate}, lot ${lot} (${cause}; decided by ${decidedBy})`,
  );
  const more = values > last.length ? [`and ${values - last.length} before`] : [];
  return [...named, ...more].join('; ');
}

/** By which plan the limits of the chart are fixed. */
export const limitsFixedText = ({ plan, revision, approvedAt, baseline }: Chart): string =>
  `Limits by plan ${plan} revision ${revision}, approved at ${timeText(approvedAt)}, from ${baseline} points of its baseline. Later lots do not move them.`;

/** Signals on points of this lot, one sentence each. */
export const signalTexts = ({ chart, points }: Pick<CapabilityResult, 'chart' | 'points'>): string[] =>
  (chart?.signals ?? []).map(({ index, rule }) => {
    const { specimen, value } = points[index - 1]!;
    return `To look at: ${specimen}, ${value}: ${signalText(rule, value, chart!.centre)}. It is decided apart, and turns no verdict.`;
  });

/** What is to be seen at a point, in full. */
export const signalText = (rule: string, value: number, centre: number): string => {
  if (rule !== 'beyondLimit') return RUN_RULE_MEANING[rule as RunRule] ?? rule;
  return value > centre ? 'beyond the upper limit of the chart' : 'beyond the lower limit of the chart';
};

type Chart = NonNullable<CapabilityResult['chart']>;
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
    case 'no plan in force':
      return 'No signed capability plan was in force when the first build of this lot closed: the chart has points and no limits.';
    case 'no baseline':
      return `Plan ${facts.plan} revision ${facts.revision} has ${facts.values} baseline point(s) that differ too little or are too few: the chart has points and no limits.`;
    case 'standardised by type':
      return `Plan ${facts.plan} revision ${facts.revision} standardises by type, which this chart does not: it has points and no limits.`;
    case 'not of the pool of the plan':
      return `${facts.values} value(s) of this lot are not of the pool of plan ${facts.plan} revision ${facts.revision}: its points are not tested.`;
    case 'assumes normal values':
      return 'Assumes roughly normal values. Values of one build are not independent; the bound treats them as if they were.';
  }
}
