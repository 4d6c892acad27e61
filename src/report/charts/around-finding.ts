import { type Point, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import type { Level } from '../../process-logs/levels.js';
import type { OutlineStretch } from './channel-plot.js';
import { type Area, domainOf, horizontalScale, verticalScale } from './frame.js';
import { ATTENTION_LIGHT, DATA, LEVEL_COLOUR, LEVEL_DASH, MUTED, RULE } from './palette.js';

export interface AroundFinding {
  /** In order of time, in hours; what is before and behind the finding too. */
  readonly outline: readonly OutlineStretch[];
  readonly fromH: number;
  readonly toH: number;
  readonly level: Level;
  /** What it left, where it left one, and how that is written beside the line. */
  readonly limit?: { readonly at: number; readonly text: string };
  /** At the left and the right end of the time axis; alone where there is no value to draw. */
  readonly begins: string;
  readonly ends: string;
}

const WIDTH = 230;
const PLOT_HEIGHT = 46;

/** A finding in the time around it, small enough to stand in a list: values as a band, its time shaded, the limit it left. */
export function aroundFinding(chart: AroundFinding, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric, WIDTH);
  const area: Area = { left: 1, right: WIDTH - 1, top: 10, bottom: 10 + PLOT_HEIGHT };
  const { outline, limit, level } = chart;
  if (outline.length > 0) {
    const values = outline.flatMap(({ min, max }) => [min, max]);
    const y = verticalScale(domainOf(limit === undefined ? values : [...values, limit.at], 0.1), area);
    const x = horizontalScale([outline[0]!.fromH, outline.at(-1)!.toH], area);
    const [from, to] = [Math.max(area.left, x(chart.fromH)), Math.min(area.right, x(chart.toH))];
    builder.rect(from, area.top, Math.max(1.5, to - from), PLOT_HEIGHT, { fill: ATTENTION_LIGHT });
    const middle = ({ fromH, toH }: OutlineStretch) => x((fromH + toH) / 2);
    const upper: Point[] = outline.map((one) => ({ x: middle(one), y: y(one.max) }));
    const lower: Point[] = outline.map((one) => ({ x: middle(one), y: y(one.min) }));
    builder.polygon([...upper, ...lower.reverse()], { fill: DATA, stroke: DATA, strokeWidth: 1 });
    if (limit !== undefined) {
      const stroke = LEVEL_COLOUR[level];
      builder.line(area.left, y(limit.at), area.right, y(limit.at), {
        stroke,
        strokeWidth: 1.3,
        dash: LEVEL_DASH[level],
      });
      builder.text(area.left, 7.5, limit.text, { fill: LEVEL_COLOUR.reject });
    }
  }
  builder.line(area.left, area.bottom, area.right, area.bottom, { stroke: RULE, strokeWidth: 0.8 });
  builder.text(area.left, area.bottom + 10, chart.begins, { fill: MUTED });
  builder.text(area.right, area.bottom + 10, chart.ends, { fill: MUTED, anchor: 'end' });
  return builder.finish(WIDTH, area.bottom + 13);
}
