import type { Reported } from '../../dossier/reported-value.js';
import type { Characteristic } from '../../kinds/specification.js';
import { guardBand } from '../../statistics/decision-rules.js';
import type { PlanVerdict, Verdict } from '../assessment.js';
import type { PlanOutcome, SpecimenGap } from '../reasons.js';

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
  /** What is missing, or there and of no use, by specimen. */
  readonly gaps: readonly SpecimenGap[];
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

/** A verdict without gaps and without trouble of a validation. */
export const planVerdict = (
  rule: PlanVerdict['rule'],
  verdict: Verdict,
  outcome: PlanOutcome,
  numbers: PlanVerdict['numbers'] = {},
): PlanVerdict => ({ rule, verdict, outcome, numbers, gaps: [], furtherGaps: 0, validation: null });

export const undecided = (
  rule: PlanVerdict['rule'],
  outcome: PlanOutcome,
  numbers: PlanVerdict['numbers'] = {},
): PlanVerdict => planVerdict(rule, 'cannot be decided', outcome, numbers);

const MOST_TOLD = 5;

/** What is missing in a sample, of so many specimens that a reader can take it in. */
export const gapsOf = ({ gaps }: Sample): Pick<PlanVerdict, 'gaps' | 'furtherGaps'> => ({
  gaps: gaps.slice(0, MOST_TOLD),
  furtherGaps: Math.max(0, gaps.length - MOST_TOLD),
});

/** Why a sample cannot be summed up by mean and spread, or undefined when it can. */
export function notMeasured(rule: PlanVerdict['rule'], sample: Sample, least: number): PlanVerdict | undefined {
  const { values } = sample;
  if (sample.gaps.length > 0) return { ...undecided(rule, 'gaps'), ...gapsOf(sample) };
  const bounds = values.filter((value) => value.reported!.qualifier !== '').length;
  if (bounds > 0) return undecided(rule, 'only bounds', { bounds, found: values.length });
  return values.length < least ? undecided(rule, 'too few values', { found: values.length, needed: least }) : undefined;
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

/** Accepted at the inner limits: conforms. Refused even at the outer ones: does not conform. Between: open. */
export function threeWay(acceptedInside: boolean, acceptedOutside: boolean): Verdict {
  if (acceptedInside) return 'conforms';
  return acceptedOutside ? 'cannot be decided' : 'does not conform';
}

/** What a plan by mean and spread comes to, by its verdict. */
export const OUTCOMES = {
  conforms: 'accepted',
  'does not conform': 'not accepted',
  'cannot be decided': 'within the guard band',
} as const;
