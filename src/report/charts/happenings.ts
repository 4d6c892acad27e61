import { type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import {
  type Area,
  drawHorizontalAxis,
  drawNotes,
  fitText,
  HORIZONTAL_AXIS_HEIGHT,
  horizontalScale,
  type Linear,
  type Tick,
} from './frame.js';
import { ATTENTION, DATA, PAPER, RULE } from './palette.js';

export interface Happening {
  readonly label: string;
  /** When it happened, in milliseconds since 1970; the same twice for a moment. */
  readonly from: number;
  readonly to: number;
  /** When it was recorded, first and last, where that is known. */
  readonly recordedFrom?: number;
  readonly recordedTo?: number;
  /** At the right end, in words: when it happened, and how much later it was recorded. */
  readonly says: string;
  readonly late: boolean;
}

const ROW = 12;
const LABEL_WIDTH = 150;
const SAYS_WIDTH = 128;
const DAY_MS = 24 * 3600 * 1000;

/** What happened, one row each: filled where it happened, open where it was recorded, a heavy line between the two where late. */
export function happenings(
  rows: readonly Happening[],
  words: { readonly axis: string; readonly notes: readonly string[] },
  metric: TextMetric,
): Scene {
  const builder = new SceneBuilder(metric);
  const area: Area = {
    left: LABEL_WIDTH,
    right: builder.width - SAYS_WIDTH,
    top: 4,
    bottom: 4 + rows.length * ROW,
  };
  const times = rows.flatMap(({ from, to, recordedFrom, recordedTo }) => [
    from,
    to,
    ...(recordedFrom === undefined ? [] : [recordedFrom]),
    ...(recordedTo === undefined ? [] : [recordedTo]),
  ]);
  const [first, last] = [Math.min(...times), Math.max(...times)];
  const air = Math.max(last - first, DAY_MS) * 0.03;
  const x = horizontalScale([first - air, last + air], area);
  drawHorizontalAxis(builder, area, x, dayTicks(first, last), words.axis);
  rows.forEach((row, index) => {
    drawRow(builder, area, x, area.top + index * ROW, row);
  });
  const end = drawNotes(builder, area.bottom + HORIZONTAL_AXIS_HEIGHT, words.notes);
  return builder.finish(builder.width, end + 4);
}

/** At most seven midnights in UTC, at equal distances. */
function dayTicks(first: number, last: number): Tick[] {
  const from = Math.ceil(first / DAY_MS);
  const to = Math.floor(last / DAY_MS);
  const step = Math.max(1, Math.ceil((to - from + 1) / 5));
  const ticks: Tick[] = [];
  for (let day = from; day <= to; day += step) {
    ticks.push({ at: day * DAY_MS, label: new Date(day * DAY_MS).toISOString().slice(0, 10) });
  }
  return ticks;
}

function drawRow(builder: SceneBuilder, area: Area, x: Linear, top: number, row: Happening): void {
  const y = top + ROW / 2;
  const { from, to, recordedFrom, recordedTo = recordedFrom, late } = row;
  const ink = late ? ATTENTION : DATA;
  builder.line(0, top + ROW, builder.width, top + ROW, { stroke: RULE, strokeWidth: 0.4 });
  builder.text(0, y + 2.8, fitText(builder, row.label, LABEL_WIDTH - 8));
  if (recordedFrom !== undefined && recordedTo !== undefined) {
    builder.line(x(to), y, x(recordedTo), y, { stroke: ink, strokeWidth: late ? 2.2 : 0.6 });
    builder.circle(x(recordedTo), y, 3.4, { fill: PAPER, stroke: ink, strokeWidth: 1.1 });
    if (x(recordedTo) - x(recordedFrom) > 7) {
      builder.circle(x(recordedFrom), y, 3.4, { fill: PAPER, stroke: ink, strokeWidth: 1.1 });
    }
  }
  if (x(to) - x(from) > 1) builder.rect(x(from), y - 2.2, x(to) - x(from), 4.4, { fill: DATA });
  else builder.circle(x(from), y, 2.1, { fill: DATA });
  builder.text(area.right + 8, y + 2.8, fitText(builder, row.says, SAYS_WIDTH - 8), {
    ...(late ? { fill: ATTENTION, bold: true } : {}),
  });
}
