import type { ChartRule } from '../base/run-rule-names.js';
import { cusumChart } from './cusum-chart.js';
import { ewmaChart } from './ewma-chart.js';
import { type IndividualsChart, movingRanges } from './individuals-chart.js';
import { RUN_RULE_LENGTH, RUN_RULES, type RunRule } from './run-rules.js';
import { beyondLimits, patternSignals } from './signals.js';

/**
 * Weight of the newest point, and limits in standard deviations: 500 points until a false signal with steady limits (Lucas
 * and Saccucci 1990), a little fewer with those that begin narrower.
 */
export const EWMA = { lambda: 0.2, width: 2.962 } as const;
/** Allowance and decision value in standard deviations: 465 points until a false signal (half of 930, NIST/SEMATECH e-Handbook 6.3.2.3). */
export const CUSUM = { k: 0.5, h: 5 } as const;

export type SignalRule = 'beyondLimit' | RunRule | ChartRule;

/** A pattern that begins at one point and is complete at another, both from 0. */
export interface ChartSignal {
  readonly rule: SignalRule;
  readonly first: number;
  readonly last: number;
}

export type ChartLimits = Pick<IndividualsChart, 'centre' | 'sigma' | 'lower' | 'upper' | 'rangeUpper'>;

/**
 * Signals of points in time order against fixed limits. A point beyond the limits is always one; other rules by name. A
 * pattern that goes on over further points stays the one signal that it was when it was first complete: what is
 * decided about it holds when points are added.
 */
export function chartSignals(values: readonly number[], limits: ChartLimits, rules: readonly string[]): ChartSignal[] {
  const { centre, sigma, lower, upper, rangeUpper } = limits;
  const found: ChartSignal[] = beyondLimits(values, lower, upper).map(({ index }) => single('beyondLimit', index - 1));
  const patterns = RUN_RULES.filter((name) => rules.includes(name));
  const ends = patternSignals(values, centre, sigma, patterns);
  for (const rule of patterns) {
    const own = ends.filter((end) => end.rule === rule).map(({ index }) => index - 1);
    found.push(...begun(own).map((last) => spanOf(rule, last, RUN_RULE_LENGTH[rule])));
  }
  if (rules.includes('movingRange')) {
    const wide = beyondLimits(movingRanges(values), 0, rangeUpper);
    found.push(...wide.map(({ index }) => spanOf('movingRange', index, 2)));
  }
  if (rules.includes('ewma')) {
    const { points, lower: low, upper: high } = ewmaChart(values, ewmaDesign(centre, sigma));
    const ends = beyondLimits(points, low, high).map(({ index }) => index - 1);
    found.push(...begun(ends).map((last) => single('ewma', last)));
  }
  if (rules.includes('cusum')) {
    const { high, low, highRun, lowRun } = cusumChart(values, centre, CUSUM.k * sigma);
    for (const [sums, runs] of [
      [high, highRun],
      [low, lowRun],
    ] as const) {
      const ends = beyondLimits(sums, 0, CUSUM.h * sigma).map(({ index }) => index - 1);
      found.push(...begun(ends).map((last) => spanOf('cusum', last, runs[last]!)));
    }
  }
  return found.sort((a, b) => a.last - b.last || a.first - b.first || (a.rule < b.rule ? -1 : 1));
}

export const ewmaDesign = (centre: number, sigma: number) =>
  ({ target: centre, sigma, ...EWMA, limits: 'exact' }) as const;

const single = (rule: SignalRule, at: number): ChartSignal => ({ rule, first: at, last: at });

/** A pattern may be complete before it has all its points. */
const spanOf = (rule: SignalRule, last: number, length: number): ChartSignal => ({
  rule,
  first: Math.max(0, last - length + 1),
  last,
});

/** Of neighbouring places the first. */
function begun(ends: readonly number[]): number[] {
  const all = new Set(ends);
  return ends.filter((end) => !all.has(end - 1));
}
