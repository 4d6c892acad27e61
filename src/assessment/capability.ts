import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { HistoryRow } from '../dossier/tables.js';
import type { Characteristic } from '../kinds/specification.js';
import { capabilityIndices } from '../statistics/capability.js';
import { exactLowerBound } from '../statistics/capability-bounds.js';
import { type IndividualsChart, individualsChart } from '../statistics/individuals-chart.js';
import type { RunRule } from '../statistics/run-rules.js';
import { beyondLimits, inOrder, patternSignals } from '../statistics/signals.js';
import { moments } from '../statistics/summary.js';
import type { CapabilityResult, HistoryPoint } from './assessment.js';
import type { ExclusionReason } from './reasons.js';
import { currentResults, type NumberedResult } from './specimens.js';

/** Below this many values an index says nothing (docs/trade.md 6.3): show the plot. */
export const LEAST_VALUES_FOR_INDEX = 10;
const CONFIDENCE = 0.95;

/** The rules a family chart is read by; each further rule costs false alarms. */
const CHART_RULES: readonly RunRule[] = ['nineOneSide', 'sixSteady'];

/** Nine significant digits: Math functions differ in the last bits between engines, and these numbers are stored. */
const stored = (value: number): number => Number(value.toPrecision(9));

/** Why a value of an earlier build does not count, or undefined when the pooling rule admits it. */
export function excludedBecause(facts: Facts, item: Characteristic, row: HistoryRow): ExclusionReason | undefined {
  const rule = facts.specification.body.pooling;
  if (!rule.recipeGroups.includes(row.recipeGroup)) {
    return { code: 'recipe group', facts: { recipeGroup: row.recipeGroup } };
  }
  if (!rule.machines.includes(row.machine)) return { code: 'machine', facts: { machine: row.machine } };
  if (row.method !== item.method.method) return { code: 'other method', facts: { method: row.method } };
  if (rule.methodRevisions === 'same' && Number(row.methodRevision) !== item.method.revision) {
    return { code: 'other revision', facts: { method: row.method, revision: row.methodRevision } };
  }
  if (rule.from !== undefined && row.builtAt.slice(0, 10) < rule.from) {
    return { code: 'built before', facts: { from: rule.from } };
  }
  if (row.ucum !== item.ucum) return { code: 'other unit', facts: { ucum: row.ucum } };
  if (readReported(row.value).qualifier !== '') return { code: 'only a bound', facts: { value: row.value } };
  return undefined;
}

const inBuildOrder = (a: HistoryPoint, b: HistoryPoint): number =>
  Date.parse(a.builtAt) - Date.parse(b.builtAt) || a.build.localeCompare(b.build, 'en') || 0;

/** Performance of the family in one characteristic, over the pinned history; this lot's values are only shown. */
export function familyCapability(
  facts: Facts,
  item: Characteristic,
  results: readonly NumberedResult[] = currentResults(facts),
): CapabilityResult {
  const rows = facts.history.filter((row) => row.characteristic === item.characteristic);
  const points: HistoryPoint[] = [];
  const excluded = new Map<string, CapabilityResult['excluded'][number]>();
  for (const row of rows) {
    const why = excludedBecause(facts, item, row);
    if (why === undefined) {
      points.push({
        lot: row.lot,
        build: row.build,
        builtAt: row.builtAt,
        specimen: row.specimen,
        value: Number(row.value),
        ofThisLot: false,
      });
      continue;
    }
    const key = JSON.stringify([row.lot, row.build, why]);
    const entry = excluded.get(key) ?? { lot: row.lot, build: row.build, values: 0, why };
    entry.values += 1;
    excluded.set(key, entry);
  }
  points.sort(inBuildOrder);
  const values = points.map((point) => point.value);
  return {
    characteristic: item.characteristic,
    points: [...points, ...ownPoints(facts, item, results)],
    excluded: [...excluded.values()],
    n: values.length,
    builds: new Set(points.map((point) => point.build)).size,
    ...performance(item, values),
  };
}

function ownPoints(facts: Facts, item: Characteristic, results: readonly NumberedResult[]): HistoryPoint[] {
  const { builds, coupons, implants, lot } = facts.lot.body;
  return results
    .filter((result) => result.characteristic === item.characteristic && readReported(result.value).qualifier === '')
    .map((result) => {
      const code =
        coupons.find((coupon) => coupon.coupon === result.specimen)?.build ??
        implants.find((implant) => implant.serial === result.specimen)?.build ??
        '';
      return {
        lot,
        build: code,
        builtAt: builds.find((build) => build.build === code)?.closedAt ?? '',
        specimen: result.specimen,
        value: Number(result.value),
        ofThisLot: true,
      };
    })
    .sort(inBuildOrder);
}

function signalsOf(values: readonly number[], { centre, sigma, lower, upper }: IndividualsChart) {
  const signals = [...beyondLimits(values, lower, upper), ...patternSignals(values, centre, sigma, CHART_RULES)];
  return inOrder(signals).map(({ index, rule }) => ({ index, rule }));
}

type Performance = Pick<
  CapabilityResult,
  'mean' | 'sd' | 'ppk' | 'ppkLower' | 'confidence' | 'method' | 'chart' | 'notes'
>;

function performance(item: Characteristic, values: readonly number[]): Performance {
  const none = { mean: null, sd: null, ppk: null, ppkLower: null, confidence: CONFIDENCE, method: null, chart: null };
  if (values.length < 2) {
    return { ...none, notes: [{ code: 'too few for a spread', facts: { values: values.length } }] };
  }
  const { mean, sd } = moments(values);
  const described = { ...none, mean: stored(mean), sd: stored(sd) };
  if (sd === 0) return { ...described, notes: [{ code: 'all equal', facts: {} }] };
  const chart = individualsChart(values, 'exact');
  const withChart = {
    ...described,
    chart: {
      centre: stored(chart.centre),
      lower: stored(chart.lower),
      upper: stored(chart.upper),
      signals: signalsOf(values, chart),
    },
  };
  if (values.length < LEAST_VALUES_FOR_INDEX) {
    return {
      ...withChart,
      notes: [{ code: 'too few for an index', facts: { values: values.length, least: LEAST_VALUES_FOR_INDEX } }],
    };
  }
  const limits = {
    ...(item.lower === undefined ? {} : { lower: Number(item.lower) }),
    ...(item.upper === undefined ? {} : { upper: Number(item.upper) }),
  };
  const ppk = capabilityIndices(mean, sd, limits).nearer;
  const twoSided = item.lower !== undefined && item.upper !== undefined;
  return {
    ...withChart,
    ppk: stored(ppk),
    ppkLower: stored(exactLowerBound(ppk, values.length, CONFIDENCE)),
    method: twoSided ? 'conservative for two limits' : 'exact for one limit',
    notes: [
      { code: 'performance, not capability', facts: {} },
      { code: 'assumes normal values', facts: {} },
    ],
  };
}
