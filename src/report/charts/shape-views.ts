import { CHART_WIDTH, INK, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { SHAPE_FIGURE } from '../phrases/record-shape.js';
import { drawNotes, drawTitle, numberText } from './frame.js';
import { ATTENTION, MUTED, PAPER, RULE } from './palette.js';

/** A part seen along an axis, square by square. */
export interface ShapeSide {
  readonly along: 'x' | 'y' | 'z';
  readonly fromMm: readonly number[];
  readonly squareMm: number;
  readonly columns: number;
  /** In µm, the lowest row first; null where there is no point. */
  readonly rows: readonly (readonly (number | null)[])[];
}

export interface ShapePicture {
  readonly title: string;
  readonly sides: readonly ShapeSide[];
  /** Ends of the steps of the scale, in mm, rising: what lies beyond the last is a step of its own. */
  readonly steps: readonly number[];
  readonly worst: readonly number[];
  readonly notes: readonly string[];
}

/** From light to dark, so that a grey printer keeps their order; the last is what lies beyond. */
const SHADES = ['#e3ebf0', '#b9cfdc', '#7fa6bd', '#3d6f8c', '#12263a'];
const GAP = 14;
const HEAD = 12;
const MOST_HEIGHT = 190;
const RING = 5;
/** Room for a ring around a point at the edge. */
const LEFT = RING + 1;

/** Which two of the coordinates of a place go across and up. */
const SEEN = { x: [1, 2], y: [0, 2], z: [0, 1] } as const;

/**
 * The sides below one another on one scale: whole squares lie outside, bars in the middle of a row inside. Within the first step,
 * where scanners hardly tell the side, squares are whole.
 */
export function shapeViews({ title, sides, steps, worst, notes }: ShapePicture, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  let top = drawTitle(builder, title) + 6;
  const widest = Math.max(...sides.map(({ columns, squareMm }) => columns * squareMm));
  const tallest = Math.max(...sides.map(({ rows, squareMm }) => rows.length * squareMm));
  const scale = Math.min((CHART_WIDTH - 2 * LEFT) / widest, MOST_HEIGHT / tallest);
  for (const side of sides) {
    builder.text(0, top + 8, SHAPE_FIGURE.side(side.along, side.squareMm), { fill: MUTED });
    top = drawSide(builder, side, { steps, worst, scale, top: top + HEAD }) + GAP;
  }
  const afterKey = drawKey(builder, top - 4, steps);
  return builder.finish(CHART_WIDTH, drawNotes(builder, afterKey, notes) + 4);
}

interface Drawn {
  readonly steps: readonly number[];
  readonly worst: readonly number[];
  /** Of the picture for each mm. */
  readonly scale: number;
  readonly top: number;
}

function drawSide(
  builder: SceneBuilder,
  { along, fromMm, squareMm, columns, rows }: ShapeSide,
  { steps, worst, scale, top }: Drawn,
): number {
  const square = squareMm * scale;
  const bottom = top + rows.length * square;
  builder.rect(LEFT, top, columns * square, rows.length * square, { stroke: RULE, strokeWidth: 0.6 });
  for (const [index, row] of rows.entries()) {
    const y = bottom - (index + 1) * square;
    for (const { from, to, step, isOutside } of runs(row, steps)) {
      const height = isOutside ? square : square / 2;
      builder.rect(LEFT + from * square, y + (square - height) / 2, (to - from) * square, height, {
        fill: SHADES[step]!,
      });
    }
  }
  const [across, up] = SEEN[along];
  const x = LEFT + (worst[across]! - fromMm[0]!) * scale;
  const y = bottom - (worst[up]! - fromMm[1]!) * scale;
  builder.circle(x, y, RING, { stroke: PAPER, strokeWidth: 2.6 });
  builder.circle(x, y, RING, { stroke: ATTENTION, strokeWidth: 1.2 });
  return bottom;
}

interface Run {
  readonly from: number;
  to: number;
  readonly step: number;
  /** Or so near that the side is not told. */
  readonly isOutside: boolean;
}

/** Squares of one step beside each other are drawn as one. */
function runs(row: readonly (number | null)[], steps: readonly number[]): Run[] {
  const found: Run[] = [];
  for (const [column, um] of row.entries()) {
    if (um === null) continue;
    const far = Math.abs(um) / 1000;
    const beyond = steps.findIndex((end) => far <= end);
    const step = beyond < 0 ? steps.length : beyond;
    const isOutside = um >= 0 || step === 0;
    const last = found.at(-1);
    if (last?.to === column && last.step === step && last.isOutside === isOutside) last.to += 1;
    else found.push({ from: column, to: column + 1, step, isOutside });
  }
  return found;
}

const BOX = 10;

function drawKey(builder: SceneBuilder, top: number, steps: readonly number[]): number {
  let x = builder.textWidth(SHAPE_FIGURE.scale) + 6;
  builder.text(0, top + 8, SHAPE_FIGURE.scale, { fill: INK });
  const ends = ['0', ...steps.map((end) => numberText(end))];
  for (const [step, shade] of SHADES.entries()) {
    builder.rect(x, top, BOX, BOX, { fill: shade, stroke: RULE, strokeWidth: 0.4 });
    const words = SHAPE_FIGURE.step(ends[step]!, ends[step + 1]);
    builder.text(x + BOX + 4, top + 8, words, { fill: INK });
    x += BOX + 18 + builder.textWidth(words);
  }
  const line = top + BOX + 5;
  let at = 0;
  for (const [height, words] of [
    [BOX, SHAPE_FIGURE.outside],
    [BOX / 2, SHAPE_FIGURE.inside],
    [0, SHAPE_FIGURE.nothing],
  ] as const) {
    if (height > 0) builder.rect(at, line + (BOX - height) / 2, BOX, height, { fill: SHADES[3]! });
    else builder.rect(at, line, BOX, BOX, { stroke: RULE, strokeWidth: 0.6 });
    builder.text(at + BOX + 4, line + 8, words, { fill: INK });
    at += BOX + 22 + builder.textWidth(words);
  }
  return line + BOX + 4;
}
