import { type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import {
  type Area,
  domainOf,
  drawHorizontalAxis,
  drawTitle,
  drawVerticalAxis,
  HORIZONTAL_AXIS_HEIGHT,
  horizontalScale,
  leftMargin,
  numberTicks,
  tickCount,
  tickTexts,
  verticalScale,
} from './frame.js';
import { DATA, LIMIT_OF_CHART, PAPER } from './palette.js';

export interface ProbabilityPlot {
  readonly title: string;
  /** What was measured, with its unit of measure. */
  readonly valueLabel: string;
  /** Where each would lie if the distribution were the one that is named. */
  readonly expectedLabel: string;
  /** In rising order; at least two that differ. */
  readonly points: readonly { readonly expected: number; readonly value: number }[];
  /** On which they would lie: start + slope × expected. */
  readonly line: { readonly start: number; readonly slope: number };
}

const PLOT_HEIGHT = 150;

/** Values in order against where they would lie: on the line, but for chance. */
export function probabilityPlot(chart: ProbabilityPlot, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  const top = drawTitle(builder, chart.title) + 4;
  const { start, slope } = chart.line;
  const across = domainOf(
    chart.points.map(({ expected }) => expected),
    0.05,
  );
  const ends = across.map((expected) => ({ expected, value: start + slope * expected }));
  const rough = { left: 0, right: builder.width - 12, top, bottom: top + PLOT_HEIGHT };
  const y = verticalScale(
    domainOf(
      [...chart.points, ...ends].map(({ value }) => value),
      0.04,
    ),
    rough,
  );
  const ticks = y.ticks(tickCount(rough));
  const area: Area = { ...rough, left: leftMargin(builder, tickTexts(ticks)) };
  const x = horizontalScale(across, area);
  drawVerticalAxis(builder, area, y, chart.valueLabel, ticks);
  drawHorizontalAxis(builder, area, x, numberTicks(x, 8), chart.expectedLabel);
  const [from, to] = ends as [(typeof ends)[0], (typeof ends)[0]];
  builder.line(x(from.expected), y(from.value), x(to.expected), y(to.value), {
    stroke: LIMIT_OF_CHART,
    strokeWidth: 0.9,
  });
  for (const { expected, value } of chart.points) {
    builder.circle(x(expected), y(value), 2, { fill: DATA, stroke: PAPER, strokeWidth: 0.4 });
  }
  return builder.finish(builder.width, area.bottom + HORIZONTAL_AXIS_HEIGHT + 2);
}
