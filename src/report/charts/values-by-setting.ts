import { type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import {
  type Area,
  domainOf,
  drawHorizontalAxis,
  drawVerticalAxis,
  HORIZONTAL_AXIS_HEIGHT,
  horizontalScale,
  leftMargin,
  numberTicks,
  tickCount,
  tickTexts,
  verticalScale,
} from './frame.js';
import { DATA, DATA_LIGHT, PAPER, SPECIFICATION } from './palette.js';

export interface ValuesBySetting {
  /** What was set, with its unit of measure. */
  readonly settingLabel: string;
  /** What was measured, with its unit of measure. */
  readonly valueLabel: string;
  readonly points: readonly {
    readonly setting: number;
    readonly mean: number;
    readonly min: number;
    readonly max: number;
  }[];
  /** What is asked for now, and how that is called. */
  readonly asked?: { readonly setting: number; readonly label: string };
}

const SIZE = { width: 300, plotHeight: 80 };
const BAR = 5;

/** Values at each setting: a light bar from the smallest to the largest, and their mean as a dot. A dashed line is what is asked. */
export function valuesBySetting(
  { points, asked, settingLabel, valueLabel }: ValuesBySetting,
  metric: TextMetric,
): Scene {
  const builder = new SceneBuilder(metric, SIZE.width);
  const top = asked === undefined ? 6 : 16;
  const rough = { left: 0, right: builder.width - 8, top, bottom: top + SIZE.plotHeight };
  const y = verticalScale(
    domainOf(
      points.flatMap(({ min, max }) => [min, max]),
      0.12,
    ),
    rough,
  );
  const ticks = y.ticks(tickCount(rough));
  const area: Area = { ...rough, left: leftMargin(builder, tickTexts(ticks)) };
  const x = horizontalScale(
    domainOf([...points.map(({ setting }) => setting), ...(asked === undefined ? [] : [asked.setting])], 0.12),
    area,
  );
  drawVerticalAxis(builder, area, y, valueLabel, ticks);
  drawHorizontalAxis(builder, area, x, numberTicks(x, 5), settingLabel);
  if (asked !== undefined) {
    const at = x(asked.setting);
    builder.line(at, area.top - 3, at, area.bottom, { stroke: SPECIFICATION, strokeWidth: 1.3, dash: [4, 2.5] });
    const half = builder.textWidth(asked.label) / 2;
    builder.text(Math.max(area.left, Math.min(at - half, area.right - 2 * half)), top - 6, asked.label, {
      fill: SPECIFICATION,
    });
  }
  for (const { setting, min, max } of points) {
    const height = Math.max(1, y(min) - y(max));
    builder.rect(x(setting) - BAR / 2, y(max), BAR, height, { fill: DATA_LIGHT });
  }
  for (const { setting, mean } of points) {
    builder.circle(x(setting), y(mean), 2.6, { fill: DATA, stroke: PAPER, strokeWidth: 0.5 });
  }
  return builder.finish(builder.width, area.bottom + HORIZONTAL_AXIS_HEIGHT);
}
