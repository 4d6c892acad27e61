import type { FamilyValue } from '../../dossier/family-history.js';
import type { CapabilityPlan } from '../../kinds/trend/capability-plan.js';
import { type IndividualsChart, individualsChart } from '../../statistics/individuals-chart.js';
import { moments } from '../../statistics/summary.js';
import { stored } from '../performance.js';

export interface FamilyPoint {
  readonly lot: string;
  readonly build: string;
  readonly builtAt: string;
  readonly specimen: string;
  readonly value: number;
}

/** Points of the chart: single values, or the means of builds or lots, in the order in which these began. */
export function pointsOf(values: readonly FamilyValue[], subgroup: CapabilityPlan['subgroup']): FamilyPoint[] {
  return groupsOf(values, subgroup).map(({ name, members }) => {
    const { lot, build, builtAt, specimen, value } = members[0]!;
    if (subgroup === 'none') return { lot, build, builtAt, specimen, value };
    return { lot, build, builtAt, specimen: name, value: stored(moments(members.map((one) => one.value)).mean) };
  });
}

/** What each point stands for. */
export function groupsOf<V extends FamilyValue>(
  values: readonly V[],
  subgroup: CapabilityPlan['subgroup'],
): { readonly name: string; readonly members: readonly V[] }[] {
  if (subgroup === 'none') return values.map((value) => ({ name: nameOf(value), members: [value] }));
  const groups = new Map<string, V[]>();
  for (const value of values) {
    const own = groups.get(value[subgroup]);
    if (own) own.push(value);
    else groups.set(value[subgroup], [value]);
  }
  return [...groups].map(([name, members]) => ({ name, members }));
}

/** A single value by all that tells it apart. */
export const nameOf = ({
  lot,
  build,
  specimen,
  piece,
  replicate,
}: Omit<FamilyValue, 'builtAt' | 'value' | 'type' | 'nominal'>): string =>
  [lot, build, specimen, ...(piece === '' ? [] : [piece]), String(replicate)].join(' / ');

/** Limits from the values of a baseline; nothing where they are too few or do not differ. */
export function baselineLimits(
  baseline: readonly FamilyValue[],
  subgroup: CapabilityPlan['subgroup'],
): { readonly points: number; readonly limits: IndividualsChart | undefined } {
  const fixed = pointsOf(baseline, subgroup).map(({ value }) => value);
  const limits = fixed.length < 2 ? undefined : individualsChart(fixed, 'exact');
  return { points: fixed.length, limits: limits?.sigma === 0 ? undefined : limits };
}
