import { type ChartSize, type Point, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import type { Level } from '../../process-logs/levels.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  domainOf,
  drawHorizontalAxis,
  drawNotes,
  drawTitle,
  drawVerticalAxis,
  HORIZONTAL_AXIS_HEIGHT,
  hatch,
  horizontalScale,
  type Linear,
  leftMargin,
  numberText,
  numberTicks,
  spread,
  tickTexts,
  verticalScale,
  widest,
} from './frame.js';
import { LabelPlaces } from './label-places.js';
import { ATTENTION_LIGHT, DATA, LEVEL_COLOUR, LEVEL_DASH, MUTED, PAPER } from './palette.js';

/** Smallest and largest value within a stretch of time. */
export interface OutlineStretch {
  readonly fromH: number;
  readonly toH: number;
  readonly min: number;
  readonly max: number;
}

/** Outer borders of one level of a window, over the stretch of time in which it holds. */
export interface ChannelWindow {
  readonly fromH: number;
  readonly toH: number;
  readonly level: Level;
  readonly lower?: number;
  readonly upper?: number;
  /** For what it holds, when not for everything: `A1-bridge peen`. */
  readonly of?: string;
}

export interface ChannelPlot {
  /** The full width of the page when absent. */
  readonly size?: ChartSize;
  readonly title: string;
  /** Channel with its unit of measure: `Oxygen /ppm`. */
  readonly valueLabel: string;
  /** What the hours count from: `Hours since the chamber was closed`. */
  readonly timeLabel: string;
  /** Says a stretch in a note, where it found no room in the picture; in hours when absent. */
  readonly spanText?: (from: number, to: number) => string;
  /** In order of time. */
  readonly outline: readonly OutlineStretch[];
  readonly windows: readonly ChannelWindow[];
  /** Times outside a window, with the reason in words. */
  readonly excursions: readonly {
    readonly fromH: number;
    readonly toH: number;
    readonly level: Level;
    readonly words: string;
    /** When it lasted, where that was not all the while. */
    readonly spans?: readonly { readonly fromH: number; readonly toH: number }[];
  }[];
  /** What happened at one moment, such as a change of gas. */
  readonly events?: readonly { readonly atH: number; readonly words: string }[];
  /** Times without values. */
  readonly gaps: readonly { readonly fromH: number; readonly toH: number }[];
}

const PLOT_HEIGHT = 160;

/** A logged channel over time as the band between its smallest and largest values, with the window it must keep. */
export function channelPlot(plot: ChannelPlot, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric, plot.size?.width);
  const top = drawTitle(builder, plot.title) + 6;
  const values = [
    ...plot.outline.flatMap(({ min, max }) => [min, max]),
    ...plot.windows.flatMap(({ lower, upper }) => [lower, upper].filter((limit) => limit !== undefined)),
  ];
  const labels = windowLabels(plot.windows);
  const rightWidth =
    widest(
      builder,
      labels.map((label) => label.text),
    ) + 10;
  const roughArea = {
    left: 0,
    right: builder.width - rightWidth,
    top,
    bottom: top + (plot.size?.plotHeight ?? PLOT_HEIGHT),
  };
  const y = verticalScale(domainOf(values, 0.08, 0.2), roughArea);
  const area: Area = { ...roughArea, left: leftMargin(builder, tickTexts(y.ticks(5))) };
  const x = horizontalScale(timesOf(plot), area);

  shadeTimes(builder, area, x, plot);
  drawVerticalAxis(builder, area, y, plot.valueLabel);
  drawHorizontalAxis(builder, area, x, numberTicks(x, plot.size ? 6 : 10), plot.timeLabel);
  drawWindows(builder, x, y, plot.windows);
  drawWindowLabels(builder, area, y, labels);
  for (const run of connectedRuns(plot)) drawBand(builder, x, y, run);
  for (const { atH } of plot.events ?? []) {
    builder.line(x(atH), area.top, x(atH), area.bottom, { stroke: MUTED, strokeWidth: 1, dash: [1, 2] });
  }
  const unplaced = drawWords(builder, area, x, y, plot);
  const events = (plot.events ?? []).map(({ atH, words }) => CHART_WORDS.event(atH, words));
  const notes = [...legend(plot), ...endedWindows(plot), ...events, ...unplaced];
  const end = drawNotes(builder, area.bottom + HORIZONTAL_AXIS_HEIGHT, notes);
  return builder.finish(builder.width, end + 4);
}

function timesOf({ outline, windows, gaps }: ChannelPlot): [number, number] {
  const spans = [...outline, ...windows, ...gaps];
  if (spans.length === 0) return [0, 1];
  const from = spans.reduce((least, span) => Math.min(least, span.fromH), Number.POSITIVE_INFINITY);
  const to = spans.reduce((most, span) => Math.max(most, span.toH), Number.NEGATIVE_INFINITY);
  return to > from ? [from, to] : [from, from + 1];
}

function shadeTimes(builder: SceneBuilder, area: Area, x: Linear, { excursions, gaps }: ChannelPlot): void {
  const shades = excursions
    .flatMap(({ fromH, toH, spans }) => spans ?? [{ fromH, toH }])
    .map(({ fromH, toH }) => atLeastVisible(x(fromH), x(toH)));
  for (const [left, right] of overlappingAsOne(shades)) {
    builder.rect(left, area.top, right - left, area.bottom - area.top, { fill: ATTENTION_LIGHT });
  }
  for (const { fromH, toH } of gaps) {
    const [left, right] = atLeastVisible(x(fromH), x(toH));
    hatch(builder, { ...area, left, right }, { stroke: MUTED, strokeWidth: 0.5 });
  }
}

/** Thousands of moments cover each other; each place is shaded once. */
function overlappingAsOne(shades: readonly [number, number][]): [number, number][] {
  const found: [number, number][] = [];
  for (const [left, right] of [...shades].sort(([a], [b]) => a - b)) {
    const last = found.at(-1);
    if (last && left <= last[1]) last[1] = Math.max(last[1], right);
    else found.push([left, right]);
  }
  return found;
}

/** A short moment is drawn wide enough to be seen. */
function atLeastVisible(left: number, right: number): [number, number] {
  return right - left >= 2 ? [left, right] : [(left + right) / 2 - 1, (left + right) / 2 + 1];
}

function drawWindows(builder: SceneBuilder, x: Linear, y: Linear, windows: readonly ChannelWindow[]): void {
  for (const { fromH, toH, level, lower, upper } of windows) {
    const paint = { stroke: LEVEL_COLOUR[level], strokeWidth: 1.1, dash: LEVEL_DASH[level] };
    for (const limit of [lower, upper]) {
      if (limit !== undefined) builder.line(x(fromH), y(limit), x(toH), y(limit), paint);
    }
  }
}

interface WindowLabel {
  readonly at: number;
  readonly text: string;
  readonly level: Level;
}

/** Levels that hold at the end of the plot are named beside it, each limit once. */
function windowLabels(windows: readonly ChannelWindow[]): WindowLabel[] {
  const end = lastEnd(windows);
  const labels = new Map<string, WindowLabel>();
  for (const window of windows) {
    if (window.toH < end) continue;
    for (const label of limitLabels(window)) labels.set(label.text, label);
  }
  return [...labels.values()];
}

function limitLabels({ level, lower, upper, of }: ChannelWindow): WindowLabel[] {
  const limits = [
    [lower, 'below'],
    [upper, 'above'],
  ] as const;
  return limits.flatMap(([at, side]) => {
    if (at === undefined) return [];
    const text = CHART_WORDS[side](level, numberText(at)) + (of === undefined ? '' : CHART_WORDS.of(of));
    return [{ at, text, level }];
  });
}

const lastEnd = (windows: readonly ChannelWindow[]): number =>
  windows.reduce((latest, window) => Math.max(latest, window.toH), Number.NEGATIVE_INFINITY);

/** Windows that end before the plot does have no room beside it. */
function endedWindows({ windows, spanText = hoursText }: ChannelPlot): string[] {
  const end = lastEnd(windows);
  const ended = windows
    .filter(({ toH }) => toH < end)
    .flatMap((window) =>
      limitLabels(window).map(({ text }) => CHART_WORDS.line(spanText(window.fromH, window.toH), text)),
    );
  return [...new Set(ended)];
}

function drawWindowLabels(builder: SceneBuilder, area: Area, y: Linear, labels: readonly WindowLabel[]): void {
  const places = spread(
    labels.map((label) => y(label.at) + 2.8),
    9.5,
    area.top + 4,
    area.bottom + 4,
  );
  labels.forEach((label, index) => {
    const stroke = LEVEL_COLOUR[label.level];
    const base = places[index]!;
    builder.line(area.right, y(label.at), area.right + 5, base - 2.8, { stroke, strokeWidth: 0.6 });
    builder.text(area.right + 7, base, label.text);
  });
}

/** Stretches that follow each other without a gap between them. */
function connectedRuns({ outline, gaps }: ChannelPlot): OutlineStretch[][] {
  const runs: OutlineStretch[][] = [];
  for (const stretch of outline) {
    const before = runs.at(-1)?.at(-1);
    const parted = !before || gaps.some((gap) => gap.toH > before.fromH && gap.fromH < stretch.toH);
    if (parted) runs.push([stretch]);
    else runs.at(-1)!.push(stretch);
  }
  return runs;
}

function drawBand(builder: SceneBuilder, x: Linear, y: Linear, run: readonly OutlineStretch[]): void {
  const middle = ({ fromH, toH }: OutlineStretch) => x((fromH + toH) / 2);
  const upper: Point[] = run.map((stretch) => ({ x: middle(stretch), y: y(stretch.max) }));
  const lower: Point[] = run.map((stretch) => ({ x: middle(stretch), y: y(stretch.min) }));
  if (run.length === 1) {
    const only = run[0]!;
    builder.line(middle(only), y(only.min) + 0.5, middle(only), y(only.max) - 0.5, { stroke: DATA, strokeWidth: 1.2 });
    return;
  }
  builder.polygon([...upper, ...lower.reverse()], { fill: DATA, stroke: DATA, strokeWidth: 0.7 });
}

/** Returns a note for every excursion whose words found no room in the picture. */
function drawWords(builder: SceneBuilder, area: Area, x: Linear, y: Linear, plot: ChannelPlot): string[] {
  const places = new LabelPlaces(area);
  const { spanText = hoursText } = plot;
  return plot.excursions.flatMap(({ fromH, toH, level, words }) => {
    const text = `${level}: ${words}`;
    const width = builder.textWidth(text, undefined, true);
    const peak = peakWithin(plot.outline, fromH, toH);
    const place = places.find(x((fromH + toH) / 2), peak === undefined ? area.top + 20 : y(peak), width);
    if (!place) return [CHART_WORDS.shaded(spanText(fromH, toH), text)];
    builder.rect(place.x - 1.5, place.y - 7.5, width + 3, 10, { fill: PAPER });
    builder.text(place.x, place.y, text, { bold: true, fill: LEVEL_COLOUR.reject });
    return [];
  });
}

function peakWithin(outline: readonly OutlineStretch[], fromH: number, toH: number): number | undefined {
  let peak: number | undefined;
  for (const stretch of outline) {
    if (stretch.toH < fromH || stretch.fromH > toH) continue;
    peak = peak === undefined ? stretch.max : Math.max(peak, stretch.max);
  }
  return peak;
}

function hoursText(fromH: number, toH: number): string {
  return CHART_WORDS.hours(fromH.toFixed(2), toH.toFixed(2));
}

/** Says what lines and shades mean, as far as the plot has them. */
function legend({ windows, excursions, gaps }: ChannelPlot): string[] {
  const used = (['alert', 'action', 'reject'] as const).filter((level) =>
    windows.some((window) => window.level === level),
  );
  const parts = used.map((level): string => CHART_WORDS.levels[level]);
  if (excursions.length > 0) parts.push(CHART_WORDS.excursion);
  if (gaps.length > 0) parts.push(CHART_WORDS.noValues);
  return parts.length === 0 ? [] : [CHART_WORDS.legend(parts)];
}
