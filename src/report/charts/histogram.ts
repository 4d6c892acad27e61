import { type ChartSize, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  domainOf,
  drawHorizontalAxis,
  drawTitle,
  drawVerticalAxis,
  fixedText,
  HORIZONTAL_AXIS_HEIGHT,
  horizontalScale,
  type Linear,
  leftMargin,
  numberTicks,
  spread,
  tickCount,
  tickTexts,
  verticalScale,
} from './frame.js';
import { DATA, DATA_LIGHT, SPECIFICATION } from './palette.js';

export interface HistogramChart {
  /** The full width of the page when absent. */
  readonly size?: ChartSize;
  readonly title: string;
  /** What was measured, with its unit of measure: `Thickness /mm`. */
  readonly valueLabel: string;
  /** At least one, in any order. */
  readonly values: readonly number[];
  readonly lower?: number;
  readonly upper?: number;
  readonly target?: number;
  /** Draws the normal curve of this mean and standard deviation. */
  readonly normal?: { readonly mean: number; readonly sd: number };
  /** Decimals of the numbers beside the limits. */
  readonly decimals: number;
}

/** Neighbouring bars of one width; a value on an edge counts for the bar on its right. */
export interface Bins {
  readonly from: number;
  readonly width: number;
  readonly counts: readonly number[];
}

interface Marker {
  readonly value: number;
  readonly text: string;
  readonly dash?: readonly [number, number];
}

const PLOT_HEIGHT = 150;
const CURVE_POINTS = 80;

/** Counts of values between the limits of the specification. */
export function histogram(chart: HistogramChart, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric, chart.size?.width);
  const markers = chart.size ? markersOf(chart).map(numberAlone) : markersOf(chart);
  const top = drawTitle(builder, chart.title) + 16;
  const bins = binsOf(chart.values);
  const highest = Math.max(...bins.counts, curveTop(chart, bins));
  const roughArea = { left: 0, right: builder.width - 12, top, bottom: top + (chart.size?.plotHeight ?? PLOT_HEIGHT) };
  const y = verticalScale([0, highest * 1.05], roughArea);
  const counts = y.ticks(tickCount(roughArea)).filter(Number.isInteger);
  const area: Area = { ...roughArea, left: leftMargin(builder, tickTexts(counts)) };
  const reach = [bins.from, bins.from + bins.width * bins.counts.length, ...markers.map((marker) => marker.value)];
  const x = horizontalScale(domainOf(reach, 0.06), area);

  drawVerticalAxis(builder, area, y, chart.size ? CHART_WORDS.values : CHART_WORDS.numberOfValues, counts);
  drawHorizontalAxis(builder, area, x, numberTicks(x, chart.size ? 4 : 8), chart.valueLabel);
  drawBars(builder, bins, x, y);
  drawCurve(builder, chart, bins, x, y);
  drawMarkers(builder, area, x, markers);
  return builder.finish(builder.width, area.bottom + HORIZONTAL_AXIS_HEIGHT + 2);
}

/** Freedman and Diaconis' bin width (1981), two interquartile ranges over the cube root of n, within 5 to 30 bins. */
export function binsOf(values: readonly number[]): Bins {
  const sorted = [...values].sort((a, b) => a - b);
  const [low, high] = [sorted[0] ?? 0, sorted.at(-1) ?? 0];
  const span = high - low;
  if (span === 0) {
    const width = Math.abs(low) * 0.01 || 0.1;
    return { from: low - width / 2, width, counts: [sorted.length] };
  }
  const range = sorted[Math.floor(sorted.length * 0.75)]! - sorted[Math.floor(sorted.length * 0.25)]!;
  const wanted = (2 * range) / Math.cbrt(sorted.length);
  const count = Math.round(Math.min(30, Math.max(5, wanted > 0 ? span / wanted : 5)));
  const width = span / count;
  const counts = new Array<number>(count).fill(0);
  for (const value of sorted) counts[Math.min(count - 1, Math.floor((value - low) / width))]! += 1;
  return { from: low, width, counts };
}

/** In a small chart there is no room for names. */
const numberAlone = (marker: Marker): Marker => ({ ...marker, text: marker.text.split(' ').at(-1)! });

function markersOf({ lower, upper, target, decimals }: HistogramChart): Marker[] {
  const marker = (value: number | undefined, name: string, dash?: readonly [number, number]): Marker[] => {
    if (value === undefined) return [];
    const text = `${name} ${fixedText(value, decimals)}`;
    return [dash ? { value, text, dash } : { value, text }];
  };
  return [
    ...marker(lower, CHART_WORDS.lowerLimit),
    ...marker(target, CHART_WORDS.target, [1.5, 2]),
    ...marker(upper, CHART_WORDS.upperLimit),
  ];
}

function drawBars(builder: SceneBuilder, bins: Bins, x: Linear, y: Linear): void {
  bins.counts.forEach((count, index) => {
    if (count === 0) return;
    const left = x(bins.from + index * bins.width);
    const width = x(bins.from + (index + 1) * bins.width) - left;
    const bar = { fill: DATA_LIGHT, stroke: DATA, strokeWidth: 0.6 };
    builder.rect(left, y(count), width, y(0) - y(count), bar);
  });
}

/** The normal density, scaled to the area of the bars. */
function expectedCount({ values, normal }: HistogramChart, bins: Bins, at: number): number {
  const distance = (at - normal!.mean) / normal!.sd;
  const density = Math.exp(-0.5 * distance * distance) / (normal!.sd * Math.sqrt(2 * Math.PI));
  return density * values.length * bins.width;
}

function hasCurve({ normal }: HistogramChart): boolean {
  return normal !== undefined && normal.sd > 0;
}

function curveTop(chart: HistogramChart, bins: Bins): number {
  return hasCurve(chart) ? expectedCount(chart, bins, chart.normal!.mean) : 0;
}

function drawCurve(builder: SceneBuilder, chart: HistogramChart, bins: Bins, x: Linear, y: Linear): void {
  if (!hasCurve(chart)) return;
  const [from, to] = x.domain() as [number, number];
  const points = Array.from({ length: CURVE_POINTS + 1 }, (_, index) => {
    const at = from + ((to - from) * index) / CURVE_POINTS;
    return { x: x(at), y: y(expectedCount(chart, bins, at)) };
  });
  builder.polyline(points, { stroke: DATA, strokeWidth: 1.4 });
}

function drawMarkers(builder: SceneBuilder, area: Area, x: Linear, markers: readonly Marker[]): void {
  const widths = markers.map((marker) => builder.textWidth(marker.text, undefined, true));
  const gap = Math.max(0, ...widths) + 8;
  const halves = widths.map((width) => width / 2);
  const middles = spread(
    markers.map((marker) => x(marker.value)),
    gap,
    area.left + Math.max(0, ...halves),
    builder.width - Math.max(0, ...halves),
  );
  markers.forEach((marker, index) => {
    const at = x(marker.value);
    const paint = { stroke: SPECIFICATION, strokeWidth: 1.3 };
    builder.line(at, area.top, at, area.bottom, marker.dash ? { ...paint, dash: marker.dash } : paint);
    builder.line(at, area.top, middles[index]!, area.top - 5, { stroke: SPECIFICATION, strokeWidth: 0.6 });
    builder.text(middles[index]!, area.top - 7, marker.text, { anchor: 'middle', bold: true, fill: SPECIFICATION });
  });
}
