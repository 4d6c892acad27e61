import { CHART_WIDTH, INK, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  drawHorizontalAxis,
  drawNotes,
  drawTitle,
  drawVerticalAxis,
  fitText,
  HORIZONTAL_AXIS_HEIGHT,
  hatch,
  horizontalScale,
  leftMargin,
  numberTicks,
  tickTexts,
  verticalScale,
} from './frame.js';
import { DATA, DATA_LIGHT, MUTED, PAPER, RULE, SPECIFICATION } from './palette.js';

/** Deepest attack at a time, in µm; without ends where nothing is known of the spread. */
export interface AttackAt {
  readonly weeks: number;
  readonly meanUm: number;
  readonly lowerUm?: number;
  readonly upperUm?: number;
}

export interface LossChart {
  readonly title: string;
  /** From the start to the longest exposure; a single one where only one duration is known. */
  readonly curve: readonly AttackAt[];
  readonly specimens: readonly { readonly weeks: number; readonly depthUm: number }[];
  /** The deepest that a section measured on the implant itself shows. */
  readonly own?: readonly { readonly weeks: number; readonly depthUm: number }[];
  /** What zones have to keep: no deeper than this for so many weeks. */
  readonly limits: readonly { readonly weeks: number; readonly depthUm: number; readonly label: string }[];
  readonly longestWeeks: number;
  readonly notes: readonly string[];
}

const HEIGHT = 130;

/** Attack against time with its band, which ends at the longest exposure, and the corners that zones have to stay below. */
export function lossChart(chart: LossChart, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  const top = drawTitle(builder, chart.title) + 14;
  const own = chart.own ?? [];
  const weeks = 1.08 * Math.max(chart.longestWeeks, ...[...chart.limits, ...own].map((one) => one.weeks));
  // An end without bound, or one far off, is not what the axis is made for.
  const largest = Math.max(
    ...chart.curve.map(({ meanUm, upperUm = meanUm }) => Math.min(upperUm, 3 * meanUm)),
    ...chart.specimens.map(({ depthUm }) => depthUm),
    ...[...chart.limits, ...own].map(({ depthUm }) => depthUm),
    1,
  );
  const area: Area = { left: 0, right: CHART_WIDTH - 10, top, bottom: top + HEIGHT };
  const ticks = verticalScale([0, 1.1 * largest], area).ticks(5);
  const placed: Area = { ...area, left: leftMargin(builder, tickTexts(ticks)) };
  const x = horizontalScale([0, weeks], placed);
  const y = verticalScale([0, 1.1 * largest], placed);
  const inside = (um: number) => y(Math.min(um, y.domain()[1]!));

  drawBand(builder, chart.curve, (at) => x(at), inside);
  const beyond: Area = { ...placed, left: x(chart.longestWeeks), top: placed.top };
  hatch(builder, beyond, { stroke: RULE, strokeWidth: 0.6 }, 6);
  drawVerticalAxis(builder, placed, y, CHART_WORDS.deepestAttack, ticks);
  drawHorizontalAxis(builder, placed, x, numberTicks(x, 8), CHART_WORDS.weeksInMedium);
  builder.line(beyond.left, placed.top, beyond.left, placed.bottom, {
    stroke: MUTED,
    strokeWidth: 0.8,
    dash: [1.5, 2],
  });
  const end = CHART_WORDS.exposuresEnd(Number(chart.longestWeeks.toFixed(1)));
  builder.text(Math.max(beyond.left, builder.textWidth(end)), placed.top - 4, end, { anchor: 'end', fill: MUTED });
  builder.polyline(
    chart.curve.map((at) => ({ x: x(at.weeks), y: inside(at.meanUm) })),
    { stroke: DATA, strokeWidth: 1.6 },
  );
  for (const { weeks: at, depthUm } of chart.specimens) {
    builder.circle(x(at), inside(depthUm), 2.2, { fill: PAPER, stroke: DATA, strokeWidth: 1 });
  }
  for (const { weeks: at, depthUm } of own) drawOwn(builder, x(at), inside(depthUm));
  drawLimits(builder, chart, placed, (at) => x(at), inside);
  const keyY = placed.bottom + HORIZONTAL_AXIS_HEIGHT;
  const afterKey = drawKey(builder, keyY, own.length > 0);
  return builder.finish(CHART_WIDTH, drawNotes(builder, afterKey, chart.notes) + 4);
}

type ToPlace = (value: number) => number;

/** Filled, and bordered by thin lines: a grey printer shows where it ends. */
function drawBand(builder: SceneBuilder, curve: readonly AttackAt[], x: ToPlace, y: ToPlace): void {
  const known = curve.filter(({ lowerUm, upperUm }) => lowerUm !== undefined && upperUm !== undefined);
  const upper = known.map((at) => ({ x: x(at.weeks), y: y(at.upperUm!) }));
  const lower = known.map((at) => ({ x: x(at.weeks), y: y(at.lowerUm!) }));
  builder.polygon([...upper, ...lower.toReversed()], { fill: DATA_LIGHT });
  for (const line of [upper, lower]) builder.polyline(line, { stroke: DATA, strokeWidth: 0.5 });
  if (known.length !== 1) return;
  const [only] = known;
  builder.line(x(only!.weeks), y(only!.upperUm!), x(only!.weeks), y(only!.lowerUm!), {
    stroke: DATA,
    strokeWidth: 1.6,
  });
}

/** A corner for each limit: no deeper than the line, until the upright end of it. */
function drawLimits(builder: SceneBuilder, { limits }: LossChart, area: Area, x: ToPlace, y: ToPlace): void {
  let free = area.top;
  for (const { weeks, depthUm, label } of [...limits].sort((a, b) => b.depthUm - a.depthUm)) {
    const [right, line] = [x(weeks), y(depthUm)];
    builder.line(area.left, line, right, line, { stroke: SPECIFICATION, strokeWidth: 1.2 });
    builder.line(right, line, right, area.bottom, { stroke: SPECIFICATION, strokeWidth: 1, dash: [5, 2.5] });
    const text = fitText(builder, label, area.right - area.left - 12);
    const above = Math.max(line - 3, free + 9);
    // Words that would lie over their own line go below it.
    const base = above > line - 3 ? Math.max(above, line + 10) : above;
    builder.rect(area.left + 4, base - 8, builder.textWidth(text) + 4, 10.5, { fill: PAPER });
    builder.text(area.left + 6, base, text, { fill: SPECIFICATION });
    free = base;
  }
}

const OWN = 2.6;

/** A filled square: no open circle, in grey too. */
const drawOwn = (builder: SceneBuilder, x: number, y: number): void => {
  builder.rect(x - OWN, y - OWN, 2 * OWN, 2 * OWN, { fill: DATA, stroke: PAPER, strokeWidth: 0.8 });
};

function drawKey(builder: SceneBuilder, y: number, hasOwn: boolean): number {
  builder.rect(2, y + 1, 24, 8, { fill: DATA_LIGHT, stroke: DATA, strokeWidth: 0.5 });
  builder.line(2, y + 5, 26, y + 5, { stroke: DATA, strokeWidth: 1.6 });
  builder.text(32, y + 7.8, CHART_WORDS.attackBand, { fill: INK });
  builder.circle(14, y + 17, 2.2, { fill: PAPER, stroke: DATA, strokeWidth: 1 });
  builder.text(32, y + 19.8, CHART_WORDS.specimen, { fill: INK });
  if (!hasOwn) return y + 24;
  drawOwn(builder, 14, y + 29);
  builder.text(32, y + 31.8, CHART_WORDS.ownSection, { fill: INK });
  return y + 36;
}
