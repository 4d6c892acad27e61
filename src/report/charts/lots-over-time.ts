import { type ChartSize, type MarkLink, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  domainOf,
  drawHorizontalAxis,
  drawNotes,
  drawTitle,
  drawVerticalAxis,
  fitText,
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
import { BAND, CALM_LIGHT, DATA, DATA_LIGHT, LIMIT_OF_CHART, MUTED, SPECIFICATION } from './palette.js';
import { type Column, type TimeColumns, timeColumns } from './time-columns.js';
import { drawPoints, type TimedPoint } from './timed-points.js';

export interface LotsOverTime {
  /** The full width of the page when absent. */
  readonly size?: ChartSize;
  readonly title: string;
  /** What was measured, with its unit of measure: `Thickness /mm`. */
  readonly valueLabel: string;
  /** What happened at the days: that the chamber closed, when absent. */
  readonly timeLabel?: string;
  /** As they were measured; a line that joins them goes in this order. */
  readonly points: readonly TimedPoint[];
  /** The lot that the chart is about, where it is about one. */
  readonly own?: string;
  /** Limits that the specification sets: the band between them is shaded. */
  readonly lowerSpecification?: number;
  readonly upperSpecification?: number;
  readonly target?: number;
  readonly centre?: number;
  /** Limits of the chart, computed from the values. */
  readonly lowerLimit?: number;
  readonly upperLimit?: number;
  /** Something changed before the point with this index, from 0. */
  readonly changes?: readonly {
    readonly before: number;
    readonly label: string;
    /** What led to the change, where a page of it stands. */
    readonly ledBy?: Pick<MarkLink, 'to' | 'label'> | undefined;
  }[];
  /** The same of what is a mark below the plot, with a number that a line under the chart explains. */
  readonly events?: readonly { readonly before: number; readonly label: string }[];
  /** Values that the scale reaches too: charts beside each other have one scale. */
  readonly reaching?: readonly number[];
  /** Each point follows from the one before it: a line joins them. */
  readonly isJoined?: boolean;
  /** The keyboard stops at points that stand out alone: of many charts on one page. */
  readonly stopsAtMarked?: boolean;
  /** Decimals of the numbers beside the lines. */
  readonly decimals: number;
}

interface Line {
  readonly value: number;
  readonly text: string;
  readonly colour: string;
  readonly width: number;
  readonly dash?: readonly [number, number];
}

const PLOT_HEIGHT = 150;
/** Room above the plot for the codes of lots, and for what changed. */
const ROW = 11;
const WIDEST_CODE = 110;

/**
 * Lots where they stand in time, each with its values one beside the other, over the band that the specification allows.
 * A light bar reaches from the smallest to the largest value of a lot, a stroke through it is their mean.
 */
export function lotsOverTime(chart: LotsOverTime, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric, chart.size?.width);
  const lines = linesOf(chart);
  const rows = 1 + (chart.changes?.length ? 1 : 0);
  const top = drawTitle(builder, chart.title) + rows * ROW;
  const names = lines.map(({ text }) => text);
  const rightWidth = lines.length === 0 ? 4 : widest(builder, names) + 8;
  const domain = domainOf(
    [...chart.points.map(({ value }) => value), ...lines.map(({ value }) => value), ...(chart.reaching ?? [])],
    0.12,
  );
  const right = builder.width - rightWidth;
  const rough = { left: 0, right, top, bottom: top + (chart.size?.plotHeight ?? PLOT_HEIGHT) };
  const y = verticalScale(domain, rough);
  const ticks = y.ticks(tickCount(rough));
  const area: Area = { ...rough, left: leftMargin(builder, tickTexts(ticks)) };
  const time = timeColumns(chart.points, area, chart.size ? 4 : 8);

  drawBand(builder, area, y, chart);
  const own = time.columns.filter(({ lot }) => lot === chart.own);
  for (const { left, right: end } of own) {
    builder.rect(left - 2, area.top, end - left + 4, area.bottom - area.top, { fill: CALM_LIGHT });
  }
  drawVerticalAxis(builder, area, y, chart.valueLabel, ticks);
  const asDrawn = horizontalScale([area.left, area.right], area);
  drawHorizontalAxis(
    builder,
    area,
    asDrawn,
    time.ticks,
    chart.points.length === 0 ? '' : (chart.timeLabel ?? CHART_WORDS.chamberClosed),
  );
  drawLines(builder, area, y, lines);
  drawChanges(builder, area, time, chart);
  const told = drawEvents(builder, area, time, chart);
  drawLots(builder, area, y, time, chart);
  const unplaced = drawPoints(builder, area, y, time, chart);
  const end = drawNotes(builder, area.bottom + HORIZONTAL_AXIS_HEIGHT, [...unplaced, ...told]);
  return builder.finish(builder.width, end + 4);
}

function linesOf(chart: LotsOverTime): Line[] {
  const control = { colour: LIMIT_OF_CHART, width: 0.9, dash: [4, 2.5] as const };
  const specification = { colour: SPECIFICATION, width: 1.3 };
  const entries: readonly (readonly [number | undefined, string, Omit<Line, 'value' | 'text'>])[] = [
    [chart.upperSpecification, CHART_WORDS.atMost, specification],
    [chart.upperLimit, CHART_WORDS.upperChartLimit, control],
    [chart.target, CHART_WORDS.target, { colour: SPECIFICATION, width: 0.8, dash: [1.5, 2] }],
    [chart.centre, CHART_WORDS.centre, { colour: LIMIT_OF_CHART, width: 0.9 }],
    [chart.lowerLimit, CHART_WORDS.lowerChartLimit, control],
    [chart.lowerSpecification, CHART_WORDS.atLeast, specification],
  ];
  return entries.flatMap(([value, name, style]) =>
    value === undefined ? [] : [{ value, text: `${name} ${fixedText(value, chart.decimals)}`, ...style }],
  );
}

/** What the specification allows; without one of its limits the band reaches to the border. */
function drawBand(
  builder: SceneBuilder,
  area: Area,
  y: Linear,
  { lowerSpecification: lower, upperSpecification: upper }: LotsOverTime,
): void {
  if (lower === undefined && upper === undefined) return;
  const top = upper === undefined ? area.top : y(upper);
  const bottom = lower === undefined ? area.bottom : y(lower);
  builder.rect(area.left, top, area.right - area.left, Math.max(0, bottom - top), { fill: BAND });
}

function drawLines(builder: SceneBuilder, area: Area, y: Linear, lines: readonly Line[]): void {
  const places = spread(
    lines.map(({ value }) => y(value) + 2.8),
    9.5,
    area.top + 4,
    area.bottom + 4,
  );
  lines.forEach(({ value, text, colour: stroke, width: strokeWidth, dash }, index) => {
    const at = y(value);
    builder.line(area.left, at, area.right, at, dash ? { stroke, strokeWidth, dash } : { stroke, strokeWidth });
    const base = places[index]!;
    builder.line(area.right, at, area.right + 5, base - 2.8, { stroke, strokeWidth: 0.6 });
    builder.text(area.right + 7, base, text, { fill: stroke });
  });
}

function drawChanges(
  builder: SceneBuilder,
  area: Area,
  { x }: TimeColumns,
  { points, changes = [] }: LotsOverTime,
): void {
  let free = area.left;
  for (const { before, label, ledBy } of changes) {
    if (before <= 0 || before >= points.length) continue;
    const at = (x(before - 1) + x(before)) / 2;
    builder.line(at, area.top - ROW - 8, at, area.bottom, { stroke: MUTED, strokeWidth: 0.8, dash: [2, 2] });
    if (ledBy) {
      const y = area.top - ROW - 8;
      builder.circle(at, y, 2.4, { fill: MUTED }, { ...ledBy, x: at, y, stops: true });
    }
    const left = Math.max(at + 2, free);
    if (left + builder.textWidth(label) > area.right) continue;
    builder.text(left, area.top - ROW - 3, label, { fill: MUTED });
    free = left + builder.textWidth(label) + 6;
  }
}

/** Returns a line for each mark. Marks at one place share their number. */
function drawEvents(
  builder: SceneBuilder,
  area: Area,
  { x }: TimeColumns,
  { points, events = [] }: LotsOverTime,
): string[] {
  const places = new Map<number, string[]>();
  for (const { before, label } of events) {
    if (before > 0 && before < points.length) places.set(before, [...(places.get(before) ?? []), label]);
  }
  return [...places]
    .sort(([a], [b]) => a - b)
    .map(([before, labels], index) => {
      const at = (x(before - 1) + x(before)) / 2;
      builder.line(at, area.bottom - 5, at, area.bottom, { stroke: MUTED, strokeWidth: 1.2 });
      builder.text(at - builder.textWidth(String(index + 1)) / 2, area.bottom - 7, String(index + 1), { fill: MUTED });
      return `${index + 1} ${labels.join('; ')}`;
    });
}

/** Of each lot its bar and mean, its code above where there is room, and where it stood on the axis before it was moved. */
function drawLots(builder: SceneBuilder, area: Area, y: Linear, { columns }: TimeColumns, chart: LotsOverTime): void {
  for (const { left, right, at, from, to } of columns) {
    const values = chart.points.slice(from, to).flatMap(({ value, apart }) => (apart === undefined ? [value] : []));
    const middle = (left + right) / 2;
    if (Math.abs(middle - at) > 1) {
      builder.line(middle, area.bottom - 3, at, area.bottom, { stroke: MUTED, strokeWidth: 0.5 });
    }
    if (chart.isJoined || values.length < 2) continue;
    const [top, bottom] = [y(Math.max(...values)), y(Math.min(...values))];
    builder.rect(left, top, right - left, bottom - top, { fill: DATA_LIGHT });
    const mean = y(values.reduce((sum, value) => sum + value / values.length, 0));
    builder.line(left, mean, right, mean, { stroke: DATA, strokeWidth: 1 });
  }
  drawCodes(builder, area, columns, chart.own);
}

/** Codes of lots above their columns: that of the own lot always, of others as many as fit. */
function drawCodes(builder: SceneBuilder, area: Area, columns: readonly Column[], own: string | undefined): void {
  const taken: { from: number; to: number }[] = [];
  const draw = ({ lot, left, right }: Column, isOwn: boolean): void => {
    const text = fitText(builder, lot, WIDEST_CODE, undefined, isOwn);
    const width = builder.textWidth(text, undefined, isOwn);
    const from = Math.max(area.left, Math.min((left + right - width) / 2, area.right - width));
    if (taken.some((place) => from < place.to + 6 && place.from - 6 < from + width)) return;
    taken.push({ from, to: from + width });
    builder.text(from, area.top - 3, text, isOwn ? { bold: true } : { fill: MUTED });
  };
  for (const column of columns) if (column.lot === own) draw(column, true);
  for (const column of columns) if (column.lot !== own) draw(column, false);
}
