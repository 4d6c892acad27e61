import type {
  Apart,
  ChangeLine,
  Coincidences,
  FamilyIndex,
  FamilyStudy,
  StudySignal,
  Trial,
} from '../../assessment/family/study-result.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import type { CapabilityPlan } from '../../kinds/trend/capability-plan.js';
import { CUSUM, EWMA } from '../../statistics/chart-signals.js';
import { RUN_RULE_MEANING, type RunRule } from '../../statistics/run-rules.js';
import { ABSENT } from './absent.js';
import { capabilityNoteText, exclusionText, percentText } from './capability.js';
import { counted } from './counted.js';
import { besideSpread, indexText, lowerBoundText, probabilityText, spreadText } from './rounded.js';
import { studyNoteText } from './study-notes.js';

const CHART_RULE_MEANING: Readonly<Record<string, string>> = {
  beyondLimit: 'a point beyond the limits of the chart',
  movingRange: 'two neighbouring points further apart than the limit of the moving range',
  ewma: `the moving average (weight ${EWMA.lambda}, limits ${EWMA.width} standard deviations) beyond its limits`,
  cusum: `a cumulative sum (allowance ${CUSUM.k}, decision value ${CUSUM.h} standard deviations) beyond its limit`,
};

export const ruleText = (rule: string): string => CHART_RULE_MEANING[rule] ?? RUN_RULE_MEANING[rule as RunRule] ?? rule;

/** The sum behind how many builds are missing; empty where none are. */
export function moreSumText({ more, spread, builds, ppk }: FamilyIndex): string {
  if (more === null || more.builds === null || spread === null) return '';
  const total = builds + more.builds;
  const scaled = (value: number) => indexText((value * total) / builds, '1');
  return (
    `${counted(builds, 'build')} count as ${indexText(spread.effectiveValues, '1')} independent values with ${indexText(spread.degreesOfFreedom, '1')} degrees of freedom; ` +
    `${total} builds like these would count as ${scaled(spread.effectiveValues)} with ${scaled(spread.degreesOfFreedom)}, and the bound of an index of ${indexText(ppk)} would then reach ${more.target}`
  );
}

const NO_CPK: Readonly<Record<NonNullable<FamilyIndex['noCpk']>, string>> = {
  'no index': 'not stated, as no Ppk is',
  'one build': 'not stated: all values are of one build',
  'no limits': 'not stated: no chart with limits shows that the process is stable',
  'too few points': 'not stated: fewer than 20 points in order',
  signals: 'not stated: the chart has signals',
  bounds: 'not stated: values that are only bounds are no points of the chart, so that it shows no stability',
  baseline: 'not stated: a baseline that is short or itself unstable shows no stability',
  'plan after data': 'not stated: the plan was approved after points that it was to be fixed before',
};

export function cpkText({ cpk, noCpk, confidence }: FamilyIndex): string {
  if (cpk === null) return NO_CPK[noCpk!];
  return `${indexText(cpk.value)}; with ${percentText(confidence)} confidence at least ${lowerBoundText(cpk.lower)} (${cpk.points} points in order without a signal, spread from point to point ${spreadText(cpk.sigma)})`;
}

export function toleranceText({ tolerance, confidence, spread }: FamilyIndex, ucum: string): string {
  if (tolerance === null || spread === null) return '';
  const { lower, upper, content, factor } = tolerance;
  const ends = [
    ...(lower === null ? [] : [`above ${besideSpread(lower, spread.sd)}`]),
    ...(upper === null ? [] : [`below ${besideSpread(upper, spread.sd)}`]),
  ];
  return `with ${percentText(confidence)} confidence ${percentText(content)} of single values lie ${ends.join(' and ')}${spacedUnit(ucum)} (mean and ${indexText(factor)} standard deviations, builds as what is independent)`;
}

export function percentileText({ percentile, distribution }: FamilyIndex): string {
  if (percentile === null) return '';
  const { ppk, low, middle, high } = percentile;
  return `Ppk ${indexText(ppk)} by the 0.135 %, 50 % and 99.865 % points ${spreadText(low)}, ${spreadText(middle)} and ${spreadText(high)} of the fitted ${distribution} distribution, which the plan names; no exact bound is known for it`;
}

export function remlText({ reml }: FamilyIndex, ucum: string): string {
  if (reml === null) return '';
  const unit = tradeUnit(ucum);
  return `standard deviation ${spreadText(reml.within)} ${unit} within builds, ${spreadText(reml.between)} ${unit} between builds (restricted maximum likelihood)`;
}

export const STUDY_ROWS = {
  says: 'What the family is able to',
  plan: 'Plan',
  window: 'Builds looked at',
  values: 'Values',
  mean: 'Mean and standard deviation',
  spread: 'Within and between builds',
  normality: 'Normal distribution',
  tested: 'values counted here',
  why: 'Why this distribution',
  ppk: 'Ppk',
  bounds: 'Lower bounds of Ppk',
  cpk: 'Cpk',
  percentile: 'Percentile method',
  tolerance: 'Tolerance interval',
  more: 'The sum behind it',
  limits: 'Limits of the charts',
  falseSignals: 'False signals',
  gauge: 'Measurement',
  nonconforming: 'With and without what does not conform',
  apart: 'Drawn apart',
  coincidences: 'What changed beside signals',
  notes: 'To look at',
};

export const planText = ({
  plan,
  revision,
  title,
  approvedBy,
  approvedAt,
}: {
  readonly plan: string;
  readonly revision: number;
  readonly title: string;
  readonly approvedBy: { readonly code: string; readonly name: string };
  readonly approvedAt: string;
}): string =>
  `${title}, ${plan} revision ${revision}, approved by ${approvedBy.name} (${approvedBy.code}) at ${timeText(approvedAt)}`;

export function countedText({ index, listed }: FamilyStudy): string {
  const out = listed.filter(({ leftOut }) => leftOut !== null);
  const lots = new Set(out.map(({ lot }) => lot)).size;
  const left =
    out.length === 0
      ? 'no build left out'
      : `${counted(out.length, 'row')} of ${counted(lots, 'lot')} left out, each listed below with its reason`;
  const bounds = index.ppk === null && index.percentile === null ? 'and are in no number here' : 'and count as such';
  const bounded = index.bounded === 0 ? '' : `; ${index.bounded} more were reported only as a bound, ${bounds}`;
  return `${index.n} of ${counted(index.builds, 'build')} of ${counted(index.lots, 'lot')}; ${left}${bounded}`;
}

export function meanText({ mean, sd }: FamilyIndex, ucum: string): string {
  return mean === null ? ABSENT.notStated : `${besideSpread(mean, sd)} and ${spreadText(sd)}${spacedUnit(ucum)}`;
}

export const ppkBoundText = ({ ppk, ppkLower, confidence, n }: FamilyIndex): string =>
  ppk === null
    ? ABSENT.notStated
    : `${indexText(ppk)}${ppkLower === null ? '' : `; with ${percentText(confidence)} confidence at least ${lowerBoundText(ppkLower)}`} (n = ${n})`;

/** Of which limit alone an index is, where the other one cannot be passed. */
export function sideText({ boundary }: Pick<Characteristic, 'boundary'>): string {
  if (boundary === undefined) return '';
  return boundary === 'lower'
    ? '; of the upper limit alone, as no value can pass the lower one'
    : '; of the lower limit alone, as no value can pass the upper one';
}

export function studyLimitsText({ chart: { baseline, limits } }: FamilyStudy, ucum: string): string {
  if (baseline === null || limits === null) return 'none';
  const { centre, lower, upper, sigma } = limits;
  const at = (value: number) => besideSpread(value, sigma);
  return `${at(lower)} to ${at(upper)} about ${at(centre)}${spacedUnit(ucum)}, from ${baseline.points} points of builds from ${baseline.from} to ${baseline.to} as they stood when the plan was approved; later builds do not move them, a new baseline is a new revision of the plan`;
}

export function falseRunText({ chart: { falseRun, baseline } }: FamilyStudy, rules: readonly string[]): string {
  if (falseRun === null || baseline === null) return '';
  const points = falseRun.atLeast ? `more than ${falseRun.points}` : `about ${falseRun.points}`;
  return `rules: ${['beyondLimit', ...rules].map(ruleText).join('; ')}. Where nothing changed, half of such charts with limits from ${Math.min(baseline.points, 500)} points give a first false signal within ${points} points (simulated)`;
}

export function gaugeText(
  { gaugeStudy, gaugeSd }: Pick<CapabilityPlan, 'gaugeStudy' | 'gaugeSd'>,
  { gauge }: FamilyIndex,
): string {
  if (gaugeStudy === undefined) {
    return 'the plan names no gauge study: how much of the spread is of the measurement is not known';
  }
  if (gaugeSd === undefined) return `the plan rests on gauge study ${gaugeStudy}, and names no spread that it found`;
  if (gauge === null) return `standard deviation ${gaugeSd} by gauge study ${gaugeStudy}`;
  const { ofSpread, ofTolerance } = gauge;
  const tolerance =
    ofTolerance === null ? '' : `; six of its standard deviations are ${sharePercent(ofTolerance)} of the tolerance`;
  const more = ofSpread > 1 ? ', more than all of it: one of the two is wrong' : '';
  return `standard deviation ${gaugeSd} by gauge study ${gaugeStudy}, ${sharePercent(ofSpread)} of the variance of the values${more}${tolerance}; every index here has it in it`;
}

const sharePercent = (share: number): string => `${indexText(100 * share, '1')} %`;

/** Both indices side by side, and who decided what one of them leaves out; empty where nothing was decided so. */
export function nonconformingText({ nonconforming, index }: FamilyStudy): string {
  if (nonconforming === null) return '';
  const { specimens, without } = nonconforming;
  const named = specimens.map(
    ({ specimen, lot, nonconformity, as, decidedBy }) =>
      `${specimen} of lot ${lot} (${as}, ${nonconformity}, decided by ${decidedBy.join(' and ')})`,
  );
  return `with all values Ppk ${ppkBoundText(index)}; without ${named.join(', ')}: ${ppkBoundText(without)}. The first counts.`;
}

const APART_WORDS: Readonly<Record<Apart['why'], string>> = {
  bound: 'reported only as a bound',
  repeat: 'measured again on the same specimen',
  replacement: 'on a specimen in place of another',
  reworked: 'after a rework',
};

export const apartText = ({ why }: Pick<Apart, 'why'>): string => APART_WORDS[why];

/** How many values are no points of the chart, by why; empty without any. */
export function apartCountText({ chart: { apart } }: FamilyStudy): string {
  const whys = [...new Set(apart.map(({ why }) => why))];
  if (whys.length === 0) return '';
  const counts = whys.map((why) => `${apart.filter((one) => one.why === why).length} ${APART_WORDS[why]}`);
  return `${counts.join(', ')}: drawn open on the chart, and no point of it`;
}

/** How changes were held against signals; empty where nothing had to be. */
export function coincidencesText({ coincidences: { lots, least, compared, ranked }, chart }: FamilyStudy): string {
  if (chart.signals.length === 0) return '';
  if (lots < least)
    return `not ranked: ${counted(lots, 'lot')} ${lots === 1 ? 'is' : 'are'} fewer than ${least}, and among few nearly everything lies beside something`;
  if (compared === 0) return 'nothing that is on record changed with enough points on both sides';
  const found =
    ranked.length === 0
      ? 'none of what changed lies near a signal'
      : `${ranked.length} changes lie near a signal, and stand below in order`;
  return `${found}. Mean and spread before and after each change were compared, ${compared} comparisons in all, so each probability is multiplied by ${compared}. A hint where to look, and no cause: what changed together cannot be told apart`;
}

export const coincidenceText = ({ by, p, corrected }: Coincidences['ranked'][number]): string =>
  `${by === 'mean' ? 'means' : 'spreads'} before and after it differ, p ${probabilityText(p)}; with all comparisons counted ${corrected >= 1 ? 'no more than chance' : `p ${probabilityText(corrected)}`}`;

export const studyNotes = ({ notes, index }: FamilyStudy): string[] => [
  ...notes.map(studyNoteText),
  ...index.notes.filter(({ code }) => code !== 'performance, not capability').map(capabilityNoteText),
];

const TRIAL_VERDICT: Readonly<Record<Trial['verdict'], string>> = {
  'nothing against it': 'nothing speaks against pooling them',
  fails: 'they do not belong together',
  'too few builds to tell': 'too few builds to tell',
};

export const trialText = ({ variance, mean, verdict }: Trial): string => {
  const tests = [
    ...(variance === null ? [] : [`equal spread (Brown-Forsythe) p ${probabilityText(variance.p)}`]),
    ...(mean === null ? [] : [`equal means p ${probabilityText(mean.p)}`]),
  ];
  return [...tests, TRIAL_VERDICT[verdict]].join('; ');
};

export const leftOutText = (why: FamilyStudy['listed'][number]['leftOut']): string =>
  why === null ? 'in' : `out: ${exclusionText(why)}`;

export function outcomeText({ outcome, asks }: StudySignal): string {
  if (outcome !== null) return `${outcome.outcome}: ${outcome.cause} (${outcome.by}, ${timeText(outcome.at)})`;
  return asks ? 'none recorded yet' : 'none asked for: it was there when the plan was approved';
}

export const changeText = ({ what, from, used, to }: Pick<ChangeLine, 'what' | 'from' | 'used' | 'to'>) =>
  `${what} ${used?.map(usedText).join(', ') ?? from} to ${to}`;

const usedText = ({ code, uses, hours }: NonNullable<ChangeLine['used']>[number]) =>
  `${code} (${uses === 1 ? '1 use' : `${uses} uses`}, ${Math.round(hours)} h)`;
