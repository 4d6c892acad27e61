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
import { CALM_LIGHT, DATA, MUTED, PAPER, RULE, SPECIFICATION } from './palette.js';

/** Strength left over time at one rate. */
export interface StrengthCurve {
  /** `slowest measured, 0.31 mm/year`. */
  readonly label: string;
  /** Fractions of the start, one for each week from 0. */
  readonly strengthLeft: readonly number[];
  readonly dash?: readonly [number, number];
}

export interface DegradationChart {
  readonly title: string;
  readonly curves: readonly StrengthCurve[];
  /** Healing window in weeks from 0, and what must be left at its end. */
  readonly window: { readonly weeks: number; readonly strengthLeft: number };
  readonly notes: readonly string[];
}

const HEIGHT = 110;

/** Computed bending strength over the weeks, with the window in which it must not fall below its limit. */
export function degradationChart(chart: DegradationChart, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  const top = drawTitle(builder, chart.title) + 14;
  const weeks = Math.max(1, ...chart.curves.map((curve) => curve.strengthLeft.length - 1));
  const percent = (fraction: number) => 100 * fraction;
  const area: Area = { left: 0, right: CHART_WIDTH - 10, top, bottom: top + HEIGHT };
  const ticks = verticalScale([0, 100], area).ticks(5);
  const placed: Area = { ...area, left: leftMargin(builder, tickTexts(ticks)) };
  const x = horizontalScale([0, weeks], placed);
  const y = verticalScale([0, 100], placed);

  const forbidden: Area = {
    left: x(0),
    right: x(Math.min(weeks, chart.window.weeks)),
    top: y(percent(chart.window.strengthLeft)),
    bottom: placed.bottom,
  };
  builder.rect(forbidden.left, forbidden.top, forbidden.right - forbidden.left, forbidden.bottom - forbidden.top, {
    fill: CALM_LIGHT,
  });
  hatch(builder, forbidden, { stroke: RULE, strokeWidth: 0.6 }, 6);
  drawVerticalAxis(builder, placed, y, CHART_WORDS.strengthLeft, ticks);
  drawHorizontalAxis(builder, placed, x, numberTicks(x, 8), CHART_WORDS.weeks);
  builder.line(forbidden.left, forbidden.top, forbidden.right, forbidden.top, {
    stroke: SPECIFICATION,
    strokeWidth: 1.2,
  });
  builder.line(forbidden.right, placed.top, forbidden.right, placed.bottom, {
    stroke: SPECIFICATION,
    strokeWidth: 1,
    dash: [5, 2.5],
  });
  builder.text(forbidden.right - 3, placed.top - 4, CHART_WORDS.windowEnds(chart.window.weeks), {
    anchor: 'end',
    fill: SPECIFICATION,
  });
  for (const curve of chart.curves) {
    const points = curve.strengthLeft.map((left, week) => ({ x: x(week), y: y(percent(left)) }));
    builder.polyline(points, { stroke: DATA, strokeWidth: 1.6, ...(curve.dash ? { dash: curve.dash } : {}) });
  }
  const limit = CHART_WORDS.insideWindow(Number(percent(chart.window.strengthLeft).toPrecision(6)));
  const width = builder.textWidth(limit);
  builder.rect(forbidden.left + 4, forbidden.top + 3, width + 4, 11, { fill: PAPER });
  builder.text(forbidden.left + 6, forbidden.top + 11.5, limit, { fill: SPECIFICATION });

  const keyY = placed.bottom + HORIZONTAL_AXIS_HEIGHT;
  const afterKey = drawKey(builder, keyY, chart.curves);
  const end = drawNotes(builder, afterKey + 2, chart.notes);
  return builder.finish(CHART_WIDTH, end + 4);
}

/** A stroke of each curve with its words, one below the other. */
function drawKey(builder: SceneBuilder, y: number, curves: readonly StrengthCurve[]): number {
  curves.forEach((curve, index) => {
    const line = y + 5 + index * 11;
    builder.line(2, line, 26, line, { stroke: DATA, strokeWidth: 1.6, ...(curve.dash ? { dash: curve.dash } : {}) });
    builder.text(32, line + 2.8, fitText(builder, curve.label, CHART_WIDTH - 32), {
      fill: curves.length > 1 ? INK : MUTED,
    });
  });
  return y + curves.length * 11 + 2;
}
