import type { CapabilityResult } from '../../assessment/assessment.js';
import { LEAST_P_OF_NORMAL } from '../../assessment/performance.js';
import type { CapabilityNote } from '../../assessment/reasons.js';
import type { ExclusionReason } from '../../dossier/pool.js';
import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit, tradeUnit } from '../../dossier/unit-text.js';
import type { Characteristic } from '../../kinds/specification.js';
import { normalityWeight } from '../../statistics/normality-weight.js';
import { RUN_RULE_MEANING, type RunRule } from '../../statistics/run-rules.js';
import { ABSENT } from './absent.js';
import { counted } from './counted.js';
import { limitsText } from './limits.js';
import { alikePlaces, indexText, lowerBoundText, probabilityText, spreadText } from './rounded.js';

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
      return `recorded in ${tradeUnit(facts.ucum)}`;
    case 'only a bound':
      return 'reported only as a bound';
    case 'medium':
      return `medium ${facts.medium} is not pooled`;
    case 'exposure':
      return `exposed for another time: ${facts.exposure}`;
    case 'face':
      return `face ${facts.face} is not pooled`;
    case 'sterilisation':
      return `${facts.sterilised}, which is not pooled`;
    case 'flow':
      return `medium ${facts.flow === 'at rest' ? facts.flow : `flowing at ${facts.flow}`}, which is not pooled`;
    case 'gas':
      return `gas above the medium ${facts.gas}, which is not pooled`;
    case 'temperature':
      return `medium at ${facts.temperature}, which is not pooled`;
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
export const limitsFixedText = ({ plan, revision, approvedAt, approvedBy, baseline }: Chart): string =>
  `Limits by plan ${plan} revision ${revision}, approved by ${approvedBy.name} (${approvedBy.code}) at ${timeText(approvedAt)}, from ${baseline.points} points of its baseline, builds from ${baseline.from} to ${baseline.to}. Later lots do not move them.`;

/** The points of this lot, and how many of them lie beyond the limits of the chart. */
export function ownPointsText({ chart, points }: CapabilityResult, { ucum }: Characteristic): string {
  const own = points.filter(({ ofThisLot }) => ofThisLot).map(({ value }) => value);
  if (own.length === 0) return 'none';
  const [least, greatest] = alikePlaces([Math.min(...own), Math.max(...own)]);
  const range = least === greatest ? `${least}` : `from ${least} to ${greatest}`;
  const beyond = chart && own.filter((value) => value < chart.lower || value > chart.upper).length;
  const against = beyond === null ? '' : `; ${beyond === 0 ? 'none' : beyond} beyond the limits of the chart`;
  return `${own.length}, ${range}${spacedUnit(ucum)}${against}`;
}

/** How many single values miss the limits of the specification; whether any does where not all of them are here. */
export function beyondLimitsText({ n, min, max, points }: CapabilityResult, item: Characteristic): string {
  const own = points.filter(({ ofThisLot }) => ofThisLot).length;
  const earlier = n === 0 ? 'no earlier value' : `of ${n} earlier values ${beyondText({ min, max }, item)}`;
  return own === 0 ? earlier : `${earlier}; those of this lot stand with their verdicts`;
}

/** Whether the least and the greatest of some values keep the limits. */
export function beyondText({ min, max }: Extremes, { lower, upper }: Characteristic): string {
  const below = min !== null && lower !== undefined && min < Number(lower);
  const above = max !== null && upper !== undefined && max > Number(upper);
  const found = [
    ...(below ? [`at least one below the lower limit, the least ${min}`] : []),
    ...(above ? [`at least one above the upper limit, the greatest ${max}`] : []),
  ];
  return found.length === 0 ? 'none' : found.join('; ');
}

interface Extremes {
  readonly min: number | null;
  readonly max: number | null;
}

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

/** The points of this lot that stand out, as a continuation of how many there are. */
export const signalsBesideText = ({ chart, points }: Pick<CapabilityResult, 'chart' | 'points'>): string => {
  const said = (chart?.signals ?? []).map(({ index, rule }) => {
    const { specimen, value } = points[index - 1]!;
    return `${specimen} at ${value} ${signalText(rule, value, chart!.centre)}`;
  });
  return said.length === 0 ? '' : ` (${said.join(', ')})`;
};

/** By which plans the limits of several charts are fixed, those of one approval and baseline together; empty without any. */
export function chartLimitsText(charts: readonly Chart[]): string {
  const groups = new Map<string, { readonly by: string; readonly plans: string[] }>();
  for (const { plan, revision, approvedAt, approvedBy, baseline } of charts) {
    const by = `approved by ${approvedBy.name} (${approvedBy.code}) at ${timeText(approvedAt)}, from a baseline of builds from ${baseline.from} to ${baseline.to}`;
    const group = groups.get(by) ?? { by, plans: [] };
    groups.set(by, group);
    group.plans.push(`${plan} revision ${revision} (${baseline.points} points)`);
  }
  const said = [...groups.values()].map(({ by, plans }) => `${plans.join(', ')}, ${by}`);
  return said.length === 0 ? '' : `Limits of the charts: ${said.join('; ')}. Later lots do not move them.`;
}

type Chart = NonNullable<CapabilityResult['chart']>;
type Method = NonNullable<CapabilityResult['method']>;

export const BOUND_METHODS: Readonly<Record<Method, string>> = {
  'exact for one limit': 'exact for one limit',
  'conservative for two limits': 'conservative for two limits',
};

/** How index and bounds were computed. */
export const capabilityMethodText = (method: Method): string =>
  'Ppk from mean and standard deviation (n − 1) of single values; lower bounds from the noncentral t distribution, ' +
  BOUND_METHODS[method];

/** The index with the bound that counts. */
export function ppkText({ ppk, ppkLower, confidence, n }: CapabilityResult): string {
  if (ppk === null) return ABSENT.notStated;
  const bound =
    ppkLower === null ? '' : `; with ${percentText(confidence)} confidence at least ${lowerBoundText(ppkLower)}`;
  return `${indexText(ppk)}${bound} (n = ${n})`;
}

/** The index of coupons against the limits that a study moved; empty where none did. */
export function ppkMovedText({ applied, confidence }: CapabilityResult): string {
  if (applied === null || applied.ppk === null) return '';
  const { ppk, ppkLower, lower, upper, studies } = applied;
  const bound = ppkLower === null ? '' : `, at least ${lowerBoundText(ppkLower)} (${percentText(confidence)})`;
  const limits = limitsText({ lower: lower ?? undefined, upper: upper ?? undefined });
  return `${indexText(ppk)}${bound} against ${limits}, by ${studies.join(', ')}; by these limits values are judged`;
}

/** Both bounds, and which of them counts; empty without an index. */
export function boundsText({ bounds, spread, builds }: Pick<CapabilityResult, 'bounds' | 'spread' | 'builds'>): string {
  if (bounds.independent === null) return '';
  const independent = `${lowerBoundText(bounds.independent)} if all values were independent`;
  if (bounds.builds === null || spread === null) return independent;
  const counts = bounds.builds <= bounds.independent ? 'the second' : 'the first';
  return `${independent}; ${lowerBoundText(bounds.builds)} with the ${builds} builds as what is independent, where the values count as ${indexText(spread.effectiveValues, '1')} independent ones. The lower one counts: ${counts}.`;
}

/** How far values spread within builds and how far builds differ; empty where nothing is known of either. */
export function spreadWithinText({ spread }: CapabilityResult, { ucum }: Characteristic): string {
  if (spread === null) return '';
  const { within, between, f, p } = spread;
  if (within === null || between === null) return 'one value in each build: spread within builds is not known';
  const unit = tradeUnit(ucum);
  const parts = `standard deviation ${spreadText(within)} ${unit} within builds, ${spreadText(between)} ${unit} between builds`;
  if (f === null || p === null) return parts;
  const says = p < LEAST_P ? 'builds differ' : 'no difference of builds is shown';
  return `${parts}; F = ${indexText(f)}, p ${probabilityText(p)}: ${says}`;
}

/**
 * What the test of normality found, and what it is worth with so many values; empty where there was none.
 * @param where the values stand that it tested.
 */
export function normalityText(
  { normality }: Pick<CapabilityResult, 'normality'>,
  where = 'single values in the lot file',
): string {
  if (normality === null) return '';
  const { values, p } = normality;
  const says = p < LEAST_P ? 'not normal' : 'nothing speaks against a normal distribution';
  const { skewed, heavyTailed } = normalityWeight(values)!;
  return (
    `Shapiro–Wilk of the ${values} ${where}, freed of what those of one build have in common: p ${probabilityText(p)}: ${says}. With so many values it finds, in 100 cases, ` +
    `at least ${skewed} where they are as skewed as chi-square with 4 degrees of freedom, and ${heavyTailed} where tails are as heavy as those of t with 4.`
  );
}

/** Where no index is stated, what builds say without a distribution; empty beside an index. */
export function keepingText({ within, ppk, confidence }: CapabilityResult): string {
  if (within === null || ppk !== null) return '';
  const { builds, keeping, shareLower } = within;
  return `in ${keeping} of the last ${builds} builds every value keeps the limits: with ${percentText(confidence)} confidence at least ${lowerPercentText(shareLower)} of builds do so`;
}

/** Whether the bound that counts reaches what the plan wants to be shown; empty without a target. */
export function targetText({ target, ppkLower }: CapabilityResult): string {
  if (target === null) return '';
  if (ppkLower === null) return `at least ${target} is to be shown: not shown, no bound is stated`;
  return `at least ${target} is to be shown: ${ppkLower >= Number(target) ? 'shown' : 'not shown'}`;
}

/** At 5 %, the level of both tests. */
const LEAST_P = LEAST_P_OF_NORMAL;

/** Downwards, as every lower bound. */
const lowerPercentText = (share: number): string => `${Math.floor(share * 100)} %`;

export const percentText = (share: number): string => `${Number((share * 100).toPrecision(9))} %`;

export function capabilityNoteText({ code, facts }: CapabilityNote): string {
  switch (code) {
    case 'too few for a spread':
      return `${counted(facts.values, 'earlier value')}: no mean, no spread, no index.`;
    case 'all equal':
      return 'All earlier values are equal: no index.';
    case 'too few for an index':
      return `Only ${facts.values} earlier values: below ${facts.least} no index is stated.`;
    case 'performance, not capability':
      return 'Ppk, not Cpk: it describes what was made and claims no stability.';
    case 'no plan in force':
      return 'No signed capability plan was in force when the first build of this lot closed: the chart has points and no limits.';
    case 'no baseline':
      return `Plan ${facts.plan} revision ${facts.revision} has ${counted(facts.values, 'baseline point')}, too few or too much alike: the chart has points and no limits.`;
    case 'standardised by type':
      return `Plan ${facts.plan} revision ${facts.revision} standardises by type, which this chart does not: it has points and no limits.`;
    case 'not of the pool of the plan':
      return `${counted(facts.values, 'value')} of this lot not of the pool of plan ${facts.plan} revision ${facts.revision}: its points are not tested.`;
    case 'assumes normal values':
      return 'Too few single values to test whether they are normal: the index assumes it.';
    case 'one build':
      return 'All values are of one build: how builds differ is not known, and no bound is stated.';
    case 'bounds among them':
      return `${counted(facts.bounds, 'earlier value')} reported only as a bound: the others are a selection, and no index is stated of them.`;
    case 'not normal':
      return 'The values are not taken as normal, so that no index of a normal distribution is stated: look at the values themselves.';
    case 'other distribution':
      return 'The plan names another distribution than the normal one, so that no index of that is stated: look at the values themselves.';
  }
}
