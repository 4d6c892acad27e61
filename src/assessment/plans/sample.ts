import type { Reported } from '../../dossier/reported-value.js';
import type { Characteristic } from '../../kinds/specification.js';
import { guardBand } from '../../statistics/decision-rules.js';
import type { PlanVerdict, Verdict } from '../assessment.js';

/** One value of the acceptance set as a plan sees it: single, or the mean of the replicates of a specimen. */
export interface SampleValue {
  readonly specimen: string;
  readonly verdict: Verdict;
  /** Undefined when it is missing or has no number of its own. */
  readonly reported: Reported | undefined;
  /** Standard uncertainty as text, empty when it was not given. */
  readonly standardUncertainty: string;
}

/** The values of one characteristic that a plan decides on together. */
export interface Sample {
  readonly item: Characteristic;
  /** Number of implants that the sample speaks for. */
  readonly units: number;
  readonly values: readonly SampleValue[];
  /** What is missing, or there and of no use, by specimen, in words. */
  readonly gaps: readonly string[];
}

/** Nine significant digits: Math functions differ in the last bits between engines, and these numbers are stored. */
export const stored = (value: number): number => Number(value.toPrecision(9));

/** Comparisons are made on twelve digits: the last bits of a double decide nothing. */
export const asCompared = (value: number): number => Number(value.toPrecision(12));

export const numbersOf = (values: readonly SampleValue[]): number[] =>
  values.flatMap(({ reported }) => (reported?.qualifier === '' ? [Number(reported.number)] : []));

/** Whole specimens: each conforms when all its values do. */
export function specimensBy(values: readonly SampleValue[]): Record<Verdict, number> {
  const bySpecimen = new Map<string, Verdict[]>();
  for (const { specimen, verdict } of values) {
    bySpecimen.set(specimen, [...(bySpecimen.get(specimen) ?? []), verdict]);
  }
  const counts: Record<Verdict, number> = { conforms: 0, 'does not conform': 0, 'cannot be decided': 0 };
  for (const verdicts of bySpecimen.values()) {
    if (verdicts.includes('does not conform')) counts['does not conform'] += 1;
    else if (verdicts.includes('cannot be decided')) counts['cannot be decided'] += 1;
    else counts.conforms += 1;
  }
  return counts;
}

export const undecided = (rule: string, says: string, numbers: PlanVerdict['numbers'] = {}): PlanVerdict => ({
  rule,
  verdict: 'cannot be decided',
  says,
  numbers,
});

const MOST_TOLD = 5;

/** What is missing in a sample, by specimen, or undefined. */
export function gapsText({ gaps }: Sample): string | undefined {
  if (gaps.length === 0) return undefined;
  const more = gaps.length > MOST_TOLD ? [`and ${gaps.length - MOST_TOLD} more specimens`] : [];
  return [...gaps.slice(0, MOST_TOLD), ...more].join('; ');
}

/** Specimens that cannot be decided, with what is missing of them. */
export function openText(sample: Sample, open: number): string {
  const gaps = gapsText(sample);
  return `${open} specimens cannot be decided${gaps === undefined ? '' : `: ${gaps}`}`;
}

/** Why a sample cannot be summed up by mean and spread, or undefined when it can. */
export function notMeasured(sample: Sample, least: number): string | undefined {
  const { values } = sample;
  const gaps = gapsText(sample);
  if (gaps !== undefined) return gaps;
  const censored = values.filter((value) => value.reported!.qualifier !== '').length;
  if (censored > 0) return `${censored} of ${values.length} values are reported only as below or above a bound`;
  const open = values.filter((value) => value.verdict === 'cannot be decided' && value.standardUncertainty === '');
  if (open.length > 0) return `${open.length} of ${values.length} values cannot be judged`;
  return values.length < least ? `${values.length} values, the plan needs ${least}` : undefined;
}

interface NumericLimits {
  readonly lower: number | undefined;
  readonly upper: number | undefined;
}

/**
 * The limits to accept by and those to refuse by. By a guarded rule the acceptance limits lie the guard band inside and
 * the others outside the limits; the largest uncertainty of the sample counts, since its common part does not average out.
 * @returns undefined when the rule is guarded and an uncertainty is missing.
 */
export function limitsFor(
  { decision, lower, upper }: Characteristic,
  values: readonly SampleValue[],
): { accept: NumericLimits; refuse: NumericLimits } | undefined {
  const guard = guardFor(decision, values);
  if (guard === undefined) return undefined;
  const shifted = (inwards: number): NumericLimits => ({
    lower: lower === undefined ? undefined : asCompared(Number(lower) + inwards),
    upper: upper === undefined ? undefined : asCompared(Number(upper) - inwards),
  });
  return { accept: shifted(guard), refuse: shifted(-guard) };
}

function guardFor(decision: Characteristic['decision'], values: readonly SampleValue[]): number | undefined {
  if (decision.rule === 'simple') return 0;
  if (values.some((value) => value.standardUncertainty === '')) return undefined;
  const largest = Math.max(...values.map((value) => Number(value.standardUncertainty)));
  return guardBand(largest, Number(decision.confidence));
}

export const IN_GUARD_BAND = 'within the guard band';
export const NO_UNCERTAINTY = 'the decision rule is guarded and a measurement uncertainty is missing';

/** Accepted at the inner limits: conforms. Refused even at the outer ones: does not conform. Between: open. */
export function threeWay(acceptedInside: boolean, acceptedOutside: boolean): Verdict {
  if (acceptedInside) return 'conforms';
  return acceptedOutside ? 'cannot be decided' : 'does not conform';
}
