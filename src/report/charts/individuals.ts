import { type ChartSize, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  domainOf,
  drawHorizontalAxis,
  drawNotes,
  drawTitle,
  drawVerticalAxis,
  fixedText,
  HORIZONTAL_AXIS_HEIGHT,
  horizontalScale,
  type Linear,
  leftMargin,
  spread,
  tickCount,
  tickTexts,
  verticalScale,
  widest,
} from './frame.js';
import { LabelPlaces } from './label-places.js';
import { ATTENTION, DATA, LIMIT_OF_CHART, MUTED, PAPER, SPECIFICATION } from './palette.js';

export interface IndividualsPoint {
  /** Serial or number of the specimen. */
  readonly label: string;
  readonly value: number;
  /** Why the point stands out, in words: `beyond upper limit`, `nine on one side`. */
  readonly flag?: string;
}

export interface IndividualsChart {
  /** The full width of the page when absent. */
  readonly size?: ChartSize;
  readonly title: string;
  /** What was measured, with its unit of measure: `Thickness /mm`. */
  readonly valueLabel: string;
  /** `Implant in build order`. */
  readonly orderLabel: string;
  /** In the order of building. */
  readonly points: readonly IndividualsPoint[];
  readonly centre?: number;
  /** Limits of the chart, computed from the values. */
  readonly lowerLimit?: number;
  readonly upperLimit?: number;
  /** Limits that the specification sets. */
  readonly lowerSpecification?: number;
  readonly upperSpecification?: number;
  readonly target?: number;
  /** A phase begins before the point with this index, from 0. */
  readonly phases?: readonly { readonly startsAt: number; readonly label: string }[];
  /** Values that the scale reaches too: charts beside each other have one scale. */
  readonly reaching?: readonly number[];
  /** Decimals of the numbers beside the lines. */
  readonly decimals: number;
}

interface Level {
  readonly value: number;
  readonly text: string;
  readonly colour: string;
  readonly width: number;
  readonly dash?: readonly [number, number];
}

const PLOT_HEIGHT = 170;

/** Single values in build order between the limits of the chart and of the specification. */
export function individualsChart(chart: IndividualsChart, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric, chart.size?.width);
  const levels = levelsOf(chart);
  const top = drawTitle(builder, chart.title) + (chart.phases?.length ? 14 : 4);
  const rightWidth =
    levels.length === 0
      ? 4
      : widest(
          builder,
          levels.map((level) => level.text),
        ) + 8;
  const domain = domainOf(
    [...chart.points.map((point) => point.value), ...levels.map((level) => level.value), ...(chart.reaching ?? [])],
    0.12,
  );
  const roughArea = {
    left: 0,
    right: builder.width - rightWidth,
    top,
    bottom: top + (chart.size?.plotHeight ?? PLOT_HEIGHT),
  };
  const y = verticalScale(domain, roughArea);
  const ticks = y.ticks(tickCount(roughArea));
  const area: Area = { ...roughArea, left: leftMargin(builder, tickTexts(ticks)) };
  const x = horizontalScale([-0.5, Math.max(0.5, chart.points.length - 0.5)], area);

  drawVerticalAxis(builder, area, y, chart.valueLabel, ticks);
  drawHorizontalAxis(
    builder,
    area,
    x,
    chart.points.map((point, at) => ({ at, label: point.label })),
    chart.orderLabel,
  );
  drawLevels(builder, area, y, levels);
  drawPhases(builder, area, x, chart);
  const trace = chart.points.map((point, index) => ({ x: x(index), y: y(point.value) }));
  builder.polyline(trace, { stroke: DATA, strokeWidth: 0.8 });
  const unplaced = drawPoints(builder, area, x, y, chart.points);
  const end = drawNotes(builder, area.bottom + HORIZONTAL_AXIS_HEIGHT, unplaced);
  return builder.finish(builder.width, end + 4);
}

function levelsOf(chart: IndividualsChart): Level[] {
  const control = { colour: LIMIT_OF_CHART, width: 0.9, dash: [4, 2.5] as const };
  const specification = { colour: SPECIFICATION, width: 1.3 };
  const entries: readonly (readonly [number | undefined, string, Omit<Level, 'value' | 'text'>])[] = [
    [chart.upperSpecification, CHART_WORDS.upperSpecification, specification],
    [chart.upperLimit, CHART_WORDS.upperChartLimit, control],
    [chart.target, CHART_WORDS.target, { colour: SPECIFICATION, width: 0.8, dash: [1.5, 2] }],
    [chart.centre, CHART_WORDS.centre, { colour: LIMIT_OF_CHART, width: 0.9 }],
    [chart.lowerLimit, CHART_WORDS.lowerChartLimit, control],
    [chart.lowerSpecification, CHART_WORDS.lowerSpecification, specification],
  ];
  return entries.flatMap(([value, name, style]) =>
    value === undefined ? [] : [{ value, text: `${name} ${fixedText(value, chart.decimals)}`, ...style }],
  );
}

function drawLevels(builder: SceneBuilder, area: Area, y: Linear, levels: readonly Level[]): void {
  const places = spread(
    levels.map((level) => y(level.value) + 2.8),
    9.5,
    area.top + 4,
    area.bottom + 4,
  );
  levels.forEach((level, index) => {
    const at = y(level.value);
    const { colour: stroke, width: strokeWidth, dash } = level;
    builder.line(area.left, at, area.right, at, dash ? { stroke, strokeWidth, dash } : { stroke, strokeWidth });
    const base = places[index]!;
    builder.line(area.right, at, area.right + 5, base - 2.8, { stroke, strokeWidth: 0.6 });
    builder.text(area.right + 7, base, level.text, { fill: stroke });
  });
}

function drawPhases(builder: SceneBuilder, area: Area, x: Linear, { phases = [] }: IndividualsChart): void {
  let free = area.left;
  for (const { startsAt, label } of phases) {
    const at = x(startsAt - 0.5);
    builder.line(at, area.top - 8, at, area.bottom, { stroke: MUTED, strokeWidth: 0.8, dash: [2, 2] });
    const left = Math.max(at + 2, free);
    if (left + builder.textWidth(label) > area.right) continue;
    builder.text(left, area.top - 4, label, { fill: MUTED });
    free = left + builder.textWidth(label) + 6;
  }
}

/** Returns notes for the flagged points whose words found no room beside them, alike words once. No word covers a point. */
function drawPoints(
  builder: SceneBuilder,
  area: Area,
  x: Linear,
  y: Linear,
  points: readonly IndividualsPoint[],
): string[] {
  const places = new LabelPlaces(area);
  points.forEach((point, index) => {
    const [cx, cy] = [x(index), y(point.value)];
    if (point.flag === undefined) {
      builder.circle(cx, cy, 2, { fill: DATA });
      places.take({ left: cx - 2, right: cx + 2, top: cy - 2, bottom: cy + 2 });
      return;
    }
    diamond(builder, cx, cy);
    places.take({ left: cx - 4, right: cx + 4, top: cy - 4, bottom: cy + 4 });
  });
  const unplaced = new Map<string, string[]>();
  points.forEach((point, index) => {
    if (point.flag === undefined) return;
    const width = builder.textWidth(point.flag);
    const place = places.find(x(index), y(point.value), width);
    if (!place) {
      unplaced.set(point.flag, [...(unplaced.get(point.flag) ?? []), point.label]);
      return;
    }
    const middle = place.x + width / 2;
    builder.line(x(index), y(point.value), middle, place.y - 2.5, { stroke: ATTENTION, strokeWidth: 0.5 });
    builder.rect(place.x - 1, place.y - 7, width + 2, 9, { fill: PAPER });
    builder.text(place.x, place.y, point.flag, { fill: ATTENTION });
  });
  return [...unplaced].map(([words, labels]) => `◆ ${words}: ${labels.join(', ')}`);
}

function diamond(builder: SceneBuilder, x: number, y: number): void {
  const half = 4.2;
  builder.polygon(
    [
      { x, y: y - half },
      { x: x + half, y },
      { x, y: y + half },
      { x: x - half, y },
    ],
    { fill: ATTENTION, stroke: PAPER, strokeWidth: 0.6 },
  );
}
