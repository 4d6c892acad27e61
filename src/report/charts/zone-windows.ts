import { CHART_WIDTH, INK, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import {
  type Area,
  drawHorizontalAxis,
  drawTitle,
  fitText,
  HORIZONTAL_AXIS_HEIGHT,
  hatch,
  horizontalScale,
  numberTicks,
  wrap,
} from './frame.js';
import { DATA, DATA_LIGHT, MUTED, RULE, SPECIFICATION } from './palette.js';

/** One zone of an implant: what it was made by, and what is left of it against what has to be. */
export interface ZoneBar {
  /** `span (load-bearing), 6 weeks: inside`. */
  readonly head: string;
  /** Settings, loss and coupons. */
  readonly lines: readonly string[];
  /** Fractions of the strength at the end of the weeks; absent where it is not known. */
  readonly left?: { readonly mean: number; readonly lower: number; readonly upper: number } | undefined;
  readonly limit: number;
}

const BAR = 9;
const LINE = 10.5;

/** The zones of one implant below each other, with the strength that is left of each on one scale. */
export function zoneWindowsChart(
  { title, zones }: { readonly title: string; readonly zones: readonly ZoneBar[] },
  metric: TextMetric,
): Scene {
  const builder = new SceneBuilder(metric);
  let y = drawTitle(builder, title) + 4;
  const x = horizontalScale([0, 100], { left: 4, right: CHART_WIDTH - 10, top: 0, bottom: 0 });
  for (const zone of zones) y = drawZone(builder, zone, y, (fraction) => x(100 * fraction));
  const area: Area = { left: x(0), right: x(100), top: y, bottom: y };
  drawHorizontalAxis(builder, area, x, numberTicks(x, 10), CHART_WORDS.strengthLeft);
  return builder.finish(CHART_WIDTH, y + HORIZONTAL_AXIS_HEIGHT + 4);
}

function drawZone(builder: SceneBuilder, zone: ZoneBar, top: number, x: (fraction: number) => number): number {
  builder.text(0, top + 9, fitText(builder, zone.head, CHART_WIDTH - 10, 8, true), { bold: true, fill: INK });
  const lines = zone.lines.flatMap((line) => wrap(builder, line, CHART_WIDTH - 10, 8, false));
  lines.forEach((line, index) => {
    builder.text(0, top + 9 + LINE * (index + 1), line, { fill: MUTED });
  });
  const bar = top + 14 + LINE * lines.length;
  const all: Area = { left: x(0), right: x(1), top: bar, bottom: bar + BAR };
  builder.rect(all.left, bar, all.right - all.left, BAR, { stroke: RULE, strokeWidth: 0.6 });
  if (zone.left === undefined) hatch(builder, all, { stroke: RULE, strokeWidth: 0.6 }, 5);
  else {
    const { mean, lower, upper } = zone.left;
    builder.rect(x(lower), bar + 1.5, x(upper) - x(lower), BAR - 3, {
      fill: DATA_LIGHT,
      stroke: DATA,
      strokeWidth: 0.6,
    });
    builder.line(x(mean), bar + 0.5, x(mean), bar + BAR - 0.5, { stroke: DATA, strokeWidth: 1.8 });
  }
  const place = x(zone.limit);
  builder.line(place, bar - 2, place, bar + BAR + 2, { stroke: SPECIFICATION, strokeWidth: 1.4 });
  const words = CHART_WORDS.hasToKeep(Number((100 * zone.limit).toPrecision(3)));
  const isRight = place + builder.textWidth(words) + 4 > CHART_WIDTH - 10;
  builder.text(place + (isRight ? -3 : 3), bar + BAR + 8.5, words, {
    fill: SPECIFICATION,
    anchor: isRight ? 'end' : 'start',
  });
  return bar + BAR + 14;
}
