import { type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { type Area, domainOf, drawNotes, fitText, hatch, horizontalScale, numberText } from './frame.js';
import { ATTENTION, DATA, MUTED, PAPER, RULE, SPECIFICATION } from './palette.js';

export interface ValueStrip {
  /** What was measured, with its unit of measure: `Thickness /mm`. */
  readonly label: string;
  readonly lower?: number;
  readonly upper?: number;
  /** Limits after guard bands, where these lie inside the limits. */
  readonly acceptFrom?: number;
  readonly acceptTo?: number;
  readonly values: readonly { readonly value: number; readonly standsOut: boolean }[];
  /** What stands at the right end: the verdict in words. */
  readonly says: string;
  readonly standsOut: boolean;
}

const STRIP = 25;
const LABEL_WIDTH = 165;
const SAYS_WIDTH = 96;

/** Every characteristic of one implant as a strip of its own scale: dots between limits, guard bands hatched. */
export function valueStrips(strips: readonly ValueStrip[], notes: readonly string[], metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  strips.forEach((strip, index) => {
    drawStrip(builder, index * STRIP, strip);
  });
  const end = drawNotes(builder, strips.length * STRIP + 4, notes);
  return builder.finish(builder.width, end + 4);
}

function drawStrip(builder: SceneBuilder, top: number, strip: ValueStrip): void {
  const area: Area = {
    left: LABEL_WIDTH,
    right: builder.width - SAYS_WIDTH,
    top: top + 3,
    bottom: top + 14,
  };
  const limits = [strip.lower, strip.upper].filter((limit) => limit !== undefined);
  const x = horizontalScale(domainOf([...limits, ...strip.values.map(({ value }) => value)], 0.12), area);
  const middle = (area.top + area.bottom) / 2;
  builder.text(0, middle + 2.8, fitText(builder, strip.label, LABEL_WIDTH - 8));
  builder.line(area.left, middle, area.right, middle, { stroke: RULE, strokeWidth: 1 });
  const band = (from: number | undefined, to: number | undefined) => {
    if (from === undefined || to === undefined || from === to) return;
    hatch(builder, { ...area, left: x(from), right: x(to) }, { stroke: SPECIFICATION, strokeWidth: 0.5 }, 3);
  };
  if (strip.acceptFrom !== undefined) band(strip.lower, strip.acceptFrom);
  if (strip.acceptTo !== undefined) band(strip.acceptTo, strip.upper);
  for (const limit of limits) {
    builder.line(x(limit), area.top - 1, x(limit), area.bottom + 1, { stroke: SPECIFICATION, strokeWidth: 1.3 });
    builder.text(x(limit), area.bottom + 9, numberText(limit), { anchor: 'middle', fill: SPECIFICATION, size: 7 });
  }
  for (const { value, standsOut } of strip.values) {
    if (standsOut) cross(builder, x(value), middle);
    else builder.circle(x(value), middle, 2.6, { fill: DATA, stroke: PAPER, strokeWidth: 0.5 });
  }
  const fill = strip.standsOut ? ATTENTION : MUTED;
  builder.text(area.right + 8, middle + 2.8, strip.says, { fill, bold: strip.standsOut });
}

/** A value that does not conform is told by its shape, not by its colour. */
function cross(builder: SceneBuilder, x: number, y: number): void {
  const paint = { stroke: ATTENTION, strokeWidth: 1.6 };
  builder.line(x - 3, y - 3, x + 3, y + 3, paint);
  builder.line(x - 3, y + 3, x + 3, y - 3, paint);
}
