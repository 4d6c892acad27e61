import type { CapabilityResult } from '../assessment/assessment.js';
import type { ChartSize } from '../base/scene.js';
import { perUnit, spacedUnit, tradeUnit } from '../dossier/unit-text.js';
import type { Characteristic } from '../kinds/specification.js';
import { textMetric } from '../pdf/shaping.js';
import { RUN_RULE_MEANING, type RunRule } from '../statistics/run-rules.js';
import { fixedText } from './charts/frame.js';
import { binsOf, histogram } from './charts/histogram.js';
import { lotsOverTime } from './charts/lots-over-time.js';
import type { LotFigure } from './lot-figure.js';
import { BESIDE_A_POINT, CAPABILITY_FIGURES } from './phrases/figures/capability.js';
import { CHART_WORDS } from './phrases/figures/charts.js';

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

const valuesOf = (points: CapabilityResult['points']): string[] =>
  points.map(({ value }) => String(value).replace('-', '−'));

type Line = readonly [name: string, value: number | null | undefined];

/** The lines that a chart has, as it writes them. */
const linesOf = (decimals: number, lines: readonly Line[]): string[] =>
  lines.flatMap(([name, value]) =>
    value === undefined || value === null ? [] : [CAPABILITY_FIGURES.line(name, fixedText(value, decimals))],
  );

const curveText = (mean: number, sd: number, decimals: number): string =>
  CAPABILITY_FIGURES.curve(fixedText(mean, decimals), fixedText(sd, decimals));

/** Bars that have values, from left to right. */
function barsOf(points: CapabilityResult['points']): string[] {
  const { from, width, counts } = binsOf(points.map(({ value }) => value));
  const edge = (index: number): string => fixedText(from + index * width, decimalsOf(points));
  return counts.flatMap((count, index) =>
    count === 0 ? [] : [CAPABILITY_FIGURES.bar(edge(index), edge(index + 1), count)],
  );
}

const earlierOf = (points: CapabilityResult['points']): number => points.filter((point) => !point.ofThisLot).length;

const inWords = (rule: string, value: number, centre: number): string => {
  if (rule === 'beyondLimit') return value > centre ? CAPABILITY_FIGURES.beyondUpper : CAPABILITY_FIGURES.beyondLower;
  return BESIDE_A_POINT[rule as RunRule] ?? RUN_RULE_MEANING[rule as RunRule] ?? rule;
};

/** Lots of the family over time with their values, this lot last; each point leads to its lot. A small chart says less around it. */
export function historyFigure(
  item: Characteristic,
  capability: CapabilityResult,
  { size, toLot }: { readonly size?: ChartSize; readonly toLot?: (lot: string) => string } = {},
): LotFigure | undefined {
  const { points, chart } = capability;
  if (points.length === 0) return undefined;
  const flags = new Map<number, string>();
  for (const { index, rule } of chart?.signals ?? []) {
    flags.set(index - 1, inWords(rule, points[index - 1]!.value, chart!.centre));
  }
  const scene = lotsOverTime(
    {
      title: size ? item.title : CAPABILITY_FIGURES.historyTitle(item.title),
      valueLabel: size ? spacedUnit(item.ucum).trim() : `${item.title}${perUnit(item.ucum)}`,
      points: points.map(({ lot, builtAt, specimen, value }, index) =>
        given({ lot, at: builtAt, name: specimen, value, flag: flags.get(index), to: toLot?.(lot) }),
      ),
      decimals: decimalsOf(points),
      ...given({
        size,
        centre: chart?.centre,
        lowerLimit: chart?.lower,
        upperLimit: chart?.upper,
        lowerSpecification: number(item.lower),
        upperSpecification: number(item.upper),
        target: number(item.target),
        own: points.find((point) => point.ofThisLot)?.lot,
      }),
    } as never,
    textMetric,
  );
  return {
    scene,
    alt: CAPABILITY_FIGURES.historyAlt({
      unit: tradeUnit(item.ucum),
      earlier: valuesOf(points.filter((point) => !point.ofThisLot)),
      own: valuesOf(points.filter((point) => point.ofThisLot)),
      lines: linesOf(decimalsOf(points), [
        [CHART_WORDS.atLeast, number(item.lower)],
        [CHART_WORDS.atMost, number(item.upper)],
        [CHART_WORDS.target, number(item.target)],
        [CHART_WORDS.lowerChartLimit, chart?.lower],
        [CHART_WORDS.centre, chart?.centre],
        [CHART_WORDS.upperChartLimit, chart?.upper],
      ]),
      flags: [...flags].map(([index, words]) => CAPABILITY_FIGURES.flag(points[index]!.specimen, words)),
    }),
    caption: CAPABILITY_FIGURES.historyCaption(item.title, chart !== null),
  };
}

/** Values of the family against the limits; without an index no normal distribution is claimed, and none is drawn. */
export function histogramFigure(
  item: Characteristic,
  capability: CapabilityResult,
  size?: ChartSize,
): LotFigure | undefined {
  const { points, mean, sd, n, ppk } = capability;
  const earlier = earlierOf(points);
  if (points.length < 2) return undefined;
  const scene = histogram(
    {
      title: size ? item.title : CAPABILITY_FIGURES.histogramTitle(item.title),
      valueLabel: size ? spacedUnit(item.ucum).trim() : `${item.title}${perUnit(item.ucum)}`,
      values: points.map((point) => point.value),
      decimals: decimalsOf(points),
      ...given({
        size,
        lower: number(item.lower),
        upper: number(item.upper),
        target: number(item.target),
        normal: ppk === null ? undefined : { mean, sd },
      }),
    } as never,
    textMetric,
  );
  return {
    scene,
    alt: CAPABILITY_FIGURES.histogramAlt({
      unit: tradeUnit(item.ucum),
      values: points.length,
      bars: barsOf(points),
      lines: [
        ...linesOf(decimalsOf(points), [
          [CHART_WORDS.lowerLimit, number(item.lower)],
          [CHART_WORDS.target, number(item.target)],
          [CHART_WORDS.upperLimit, number(item.upper)],
        ]),
        ...(ppk === null || mean === null || sd === null ? [] : [curveText(mean, sd, decimalsOf(points))]),
      ],
    }),
    caption: CAPABILITY_FIGURES.histogramCaption(item.title, {
      earlier,
      own: points.length - earlier,
      n: ppk === null ? null : n,
    }),
  };
}
