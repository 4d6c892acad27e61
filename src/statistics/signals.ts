import { findPattern, type RunRule } from './run-rules.js';

/** A point of a chart that asks for an explanation; index from 1. */
export interface Signal {
  readonly index: number;
  readonly rule: RunRule | 'beyondLimit';
}

/** The limits of a point, or of all points. */
type PerPoint = number | readonly number[];

/**
 * Points beyond their limits. A point exactly on a limit is not beyond it, and equality is judged on twelve digits,
 * so that the rounding of a computed limit signals nothing.
 */
export function beyondLimits(points: readonly number[], lower: PerPoint, upper: PerPoint): Signal[] {
  const signals: Signal[] = [];
  points.forEach((point, i) => {
    if (exceeds(at(lower, i), point) || exceeds(point, at(upper, i)))
      signals.push({ index: i + 1, rule: 'beyondLimit' });
  });
  return signals;
}

/** Signals of the run rules on values standardised with the centre and each point's sigma. */
export function patternSignals(points: readonly number[], centre: number, sigma: PerPoint, rules: readonly RunRule[]) {
  // Twelve digits, so that a point on a zone limit is found on it.
  const z = points.map((point, i) => twelveDigits((point - centre) / at(sigma, i)));
  return rules.flatMap((rule) => findPattern(z, rule).map((index): Signal => ({ index, rule })));
}

/** Rounded to twelve significant digits without a text between, which simulations have no time for. */
function twelveDigits(value: number): number {
  if (value === 0) return 0;
  const scale = 10 ** (11 - Math.floor(Math.log10(Math.abs(value))));
  return Math.round(value * scale) / scale;
}

/** In order of points; of one point, each rule once and a limit before the patterns. */
export function inOrder(signals: readonly Signal[]): Signal[] {
  const unique = new Map(signals.map((signal) => [`${signal.index} ${signal.rule}`, signal]));
  return [...unique.values()].sort((a, b) => a.index - b.index);
}

function exceeds(larger: number, smaller: number): boolean {
  return larger - smaller > 1e-12 * Math.max(Math.abs(larger), Math.abs(smaller));
}

function at(value: PerPoint, index: number): number {
  return typeof value === 'number' ? value : value[index]!;
}
