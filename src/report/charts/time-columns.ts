import { type ScaleTime, scaleUtc } from 'd3-scale';
import type { Area, Tick } from './frame.js';

/** Room of one lot on the axis, in scene units: its values stand in it, left to right as they were measured. */
export interface Column {
  readonly lot: string;
  /** Where its moment lies on the axis. */
  readonly at: number;
  readonly left: number;
  readonly right: number;
  /** Indexes of its first point and of the one behind its last. */
  readonly from: number;
  readonly to: number;
}

export interface TimeColumns {
  readonly columns: readonly Column[];
  readonly ticks: readonly Tick[];
  /** Where the point with this index stands. */
  readonly x: (index: number) => number;
}

/** More room a single value does not need, and columns keep this much from each other where there is room. */
const WIDEST_SLOT = 7;
const GAP = 7;
const DAY_MS = 86_400_000;
const MONTH_MS = 28 * DAY_MS;

/**
 * Columns of lots at their moments. Those that would stand over each other are moved apart, in their order; each has its
 * moment beside it, so that a line can lead to its true place.
 * @param points neighbours of one lot and moment share a column; columns stand in order of time.
 * @param count about so many ticks.
 */
export function timeColumns(
  points: readonly { readonly lot: string; readonly at: string }[],
  area: Pick<Area, 'left' | 'right'>,
  count: number,
): TimeColumns {
  const groups: { lot: string; ms: number; from: number; to: number }[] = [];
  points.forEach(({ lot, at }, index) => {
    const last = groups.at(-1);
    const ms = Date.parse(at);
    if (last?.lot === lot && last.ms === ms) last.to = index + 1;
    else groups.push({ lot, ms, from: index, to: index + 1 });
  });
  groups.sort((a, b) => a.ms - b.ms);
  const room = area.right - area.left;
  const gap = Math.min(GAP, room / (2 * Math.max(1, groups.length)));
  const slot = Math.min(WIDEST_SLOT, (room - gap * groups.length) / Math.max(1, points.length));
  const widths = groups.map(({ from, to }) => (to - from) * slot + gap);
  const ends = [(widths[0] ?? 0) / 2, (widths.at(-1) ?? 0) / 2] as const;
  const times = groups.map(({ ms }) => ms);
  const [first, last] = [Math.min(...times), Math.max(...times)];
  // One moment, or none, lies in the middle of a day of its own.
  const domain = groups.length === 0 ? [0, DAY_MS] : first < last ? [first, last] : [first - DAY_MS, first + DAY_MS];
  const scale = scaleUtc<number>(domain, [area.left + ends[0], Math.max(area.left + ends[0], area.right - ends[1])]);
  const middles = apart(
    groups.map(({ ms }) => scale(ms)),
    widths,
    area,
  );
  const columns = groups.map(({ lot, ms, from, to }, index): Column => {
    const half = (widths[index]! - gap) / 2;
    return { lot, at: scale(ms), left: middles[index]! - half, right: middles[index]! + half, from, to };
  });
  const slots = new Map<number, number>();
  for (const { left, from, to } of columns) {
    for (let index = from; index < to; index++) slots.set(index, left + (index - from + 0.5) * slot);
  }
  return { columns, ticks: groups.length === 0 ? [] : dayTicks(scale, count), x: (index) => slots.get(index)! };
}

/** Days, months or years at the axis, each written as long as it has to be. */
function dayTicks(scale: ScaleTime<number, number>, count: number): Tick[] {
  const days = scale.ticks(count).filter((day) => day.getTime() % DAY_MS === 0);
  const step = days.length > 1 ? days[1]!.getTime() - days[0]!.getTime() : 0;
  const isMonths = step >= MONTH_MS && days.every((day) => day.getUTCDate() === 1);
  const isYears = isMonths && days.every((day) => day.getUTCMonth() === 0);
  const length = isYears ? 4 : isMonths ? 7 : 10;
  return days.map((day) => ({ at: scale(day), label: day.toISOString().slice(0, length) }));
}

/** Pushes columns apart that would stand over each other, in their order, within the area. Takes and returns middles. */
function apart(
  wanted: readonly number[],
  widths: readonly number[],
  { left, right }: Pick<Area, 'left' | 'right'>,
): number[] {
  const placed = [...wanted];
  let free = left;
  placed.forEach((middle, index) => {
    const half = widths[index]! / 2;
    placed[index] = Math.max(middle, free + half);
    free = placed[index]! + half;
  });
  let end = right;
  for (let index = placed.length - 1; index >= 0; index--) {
    const half = widths[index]! / 2;
    placed[index] = Math.min(placed[index]!, end - half);
    end = placed[index]! - half;
  }
  return placed;
}
