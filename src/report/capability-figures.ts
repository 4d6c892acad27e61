import type { CapabilityResult } from '../assessment/assessment.js';
import { tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import { textMetric } from '../pdf/shaping.js';
import { RUN_RULE_MEANING, type RunRule } from '../statistics/run-rules.js';
import { histogram } from './charts/histogram.js';
import { individualsChart } from './charts/individuals.js';
import type { LotFigure } from './lot-figure.js';

const number = (text: string | undefined) => (text === undefined ? undefined : Number(text));

/** Leaves out what is undefined: the charts' fields are optional, not nullable. */
function given<T extends object>(fields: T): { [K in keyof T]: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as never;
}

/** Decimals that show a value a little finer than it was reported. */
function decimalsOf(points: CapabilityResult['points']): number {
  const places = points.map(({ value }) => (String(value).split('.')[1] ?? '').length);
  return Math.min(4, Math.max(0, ...places) + 1);
}

/** Short enough to stand beside a point; the notes of the capability tell a rule in full. */
const BESIDE_A_POINT: Partial<Record<RunRule, string>> = {
  nineOneSide: 'nine on one side',
  sixSteady: 'six rising or falling',
};

const inWords = (rule: string, value: number, centre: number): string => {
  if (rule === 'beyondLimit') return value > centre ? 'beyond upper limit' : 'beyond lower limit';
  return BESIDE_A_POINT[rule as RunRule] ?? RUN_RULE_MEANING[rule as RunRule] ?? rule;
};

/** Single values of the family in build order, those of this lot last. */
export function historyFigure(item: Characteristic, capability: CapabilityResult): LotFigure | undefined {
  const { points, chart, n } = capability;
  if (points.length === 0) return undefined;
  const flags = new Map<number, string>();
  for (const { index, rule } of chart?.signals ?? []) {
    flags.set(index - 1, inWords(rule, points[index - 1]!.value, chart!.centre));
  }
  const own = points.findIndex((point) => point.ofThisLot);
  const scene = individualsChart(
    {
      title: `${item.title}, single values in build order`,
      valueLabel: `${item.title} /${tradeUnit(item.ucum)}`,
      orderLabel: 'Specimen in build order',
      points: points.map((point, index) =>
        given({ label: point.specimen, value: point.value, flag: flags.get(index) }),
      ),
      decimals: decimalsOf(points),
      ...given({
        centre: chart?.centre,
        lowerLimit: chart?.lower,
        upperLimit: chart?.upper,
        lowerSpecification: number(item.lower),
        upperSpecification: number(item.upper),
        target: number(item.target),
        phases: own > 0 ? [{ startsAt: own, label: 'this lot' }] : undefined,
      }),
    } as never,
    textMetric,
  );
  return {
    scene,
    alt: `${n} values of earlier builds and ${points.length - n} of this lot in the order of building, between ${Math.min(...points.map((p) => p.value))} and ${Math.max(...points.map((p) => p.value))} ${tradeUnit(item.ucum)}.`,
    caption: `${item.title}: values of earlier builds that the pooling rule admits, then those of this lot. Limits of the chart are computed from the earlier values.`,
  };
}

/** Values of the family against the limits. */
export function histogramFigure(item: Characteristic, capability: CapabilityResult): LotFigure | undefined {
  const { points, mean, sd, n } = capability;
  if (points.length < 2) return undefined;
  const scene = histogram(
    {
      title: `${item.title} against its limits`,
      valueLabel: `${item.title} /${tradeUnit(item.ucum)}`,
      values: points.map((point) => point.value),
      decimals: decimalsOf(points),
      ...given({
        lower: number(item.lower),
        upper: number(item.upper),
        target: number(item.target),
        normal: mean !== null && sd !== null && sd > 0 ? { mean, sd } : undefined,
      }),
    } as never,
    textMetric,
  );
  return {
    scene,
    alt: `Histogram of ${points.length} values with the limits of the specification.`,
    caption: `${item.title}: ${n} values of earlier builds and ${points.length - n} of this lot. The curve is the normal distribution with mean and standard deviation of the earlier values.`,
  };
}
