import type { MarkLink, SceneBuilder } from '../../base/scene.js';
import { CHART_WORDS } from '../phrases/figures/charts.js';
import { type Area, fixedText, type Linear } from './frame.js';
import { LabelPlaces } from './label-places.js';
import { ATTENTION, DATA, PAPER } from './palette.js';
import type { TimeColumns } from './time-columns.js';

/** Points of a chart of lots over time: marks, words beside them, and where they lead. */

export interface TimedPoint {
  readonly lot: string;
  /** When its chamber was closed. */
  readonly at: string;
  /** Serial or number of the specimen, or what the point stands for. */
  readonly name: string;
  readonly value: number;
  /** Why the point stands out, in words: `beyond upper limit`, `nine on one side`. Empty where it does, and others say why. */
  readonly flag?: string;
  /** In no number: drawn open, or as a tip where it is only a bound from below or above. */
  readonly apart?: 'open' | 'below' | 'above';
  /** The page that a point leads to, where the chart stands on a page. */
  readonly to?: string;
}

interface Drawn {
  readonly points: readonly TimedPoint[];
  readonly isJoined?: boolean;
  readonly stopsAtMarked?: boolean;
  readonly decimals: number;
}

/**
 * Of points in a row that stand out by the same, one has the words, the first beside which there is room: a process that
 * moved would be hidden by them. Returns notes that name every point of the rows whose words found no room beside any of
 * them, alike words once. No word covers a point.
 */
export function drawPoints(
  builder: SceneBuilder,
  area: Area,
  y: Linear,
  { x }: TimeColumns,
  { points, isJoined = false, stopsAtMarked = false, decimals }: Drawn,
): string[] {
  const places = new LabelPlaces(area);
  if (isJoined) {
    const trace = points.map(({ value }, index) => ({ x: x(index), y: y(value) }));
    builder.polyline(trace, { stroke: DATA, strokeWidth: 0.8 });
  }
  points.forEach((point, index) => {
    const { value, flag, apart } = point;
    const [cx, cy] = [x(index), y(value)];
    const half = flag === undefined ? 2 : 4;
    const link = linkOf(point, cx, cy, decimals, flag !== undefined || !stopsAtMarked);
    if (apart !== undefined) drawApart(builder, cx, cy, apart, link);
    else if (flag === undefined) builder.circle(cx, cy, half, { fill: DATA, stroke: PAPER, strokeWidth: 0.4 }, link);
    else diamond(builder, cx, cy, link);
    places.take({ left: cx - half, right: cx + half, top: cy - half, bottom: cy + half });
  });
  /** Returns whether there was room. */
  const says = (index: number, flag: string): boolean => {
    const [at, width] = [{ x: x(index), y: y(points[index]!.value) }, builder.textWidth(flag)];
    const place = places.find(at.x, at.y, width);
    if (!place) return false;
    builder.line(at.x, at.y, place.x + width / 2, place.y - 2.5, { stroke: ATTENTION, strokeWidth: 0.5 });
    builder.rect(place.x - 1, place.y - 7, width + 2, 9, { fill: PAPER });
    builder.text(place.x, place.y, flag, { fill: ATTENTION });
    return true;
  };
  const unplaced = new Map<string, string[]>();
  for (const { flag, indices } of flaggedRuns(points)) {
    if (indices.some((index) => says(index, flag))) continue;
    unplaced.set(flag, [...(unplaced.get(flag) ?? []), ...indices.map((index) => points[index]!.name)]);
  }
  return [...unplaced].map(([words, names]) => `◆ ${words}: ${names.join(', ')}`);
}

interface FlaggedRun {
  readonly flag: string;
  readonly indices: number[];
}

/** Points in a row that stand out by the same words, together. */
function flaggedRuns(points: readonly TimedPoint[]): FlaggedRun[] {
  const runs: FlaggedRun[] = [];
  points.forEach(({ flag }, index) => {
    if (flag === undefined || flag === '') return;
    if (flag === points[index - 1]?.flag) runs.at(-1)!.indices.push(index);
    else runs.push({ flag, indices: [index] });
  });
  return runs;
}

function linkOf(
  { lot, name, value, flag, to }: TimedPoint,
  x: number,
  y: number,
  decimals: number,
  stops: boolean,
): MarkLink | undefined {
  if (to === undefined) return undefined;
  return { to, label: CHART_WORDS.point(lot, name, fixedText(value, decimals), flag ?? ''), x, y, stops };
}

/** Open, so that nobody takes it for a value that counts; a bound points to where its value lies. */
function drawApart(
  builder: SceneBuilder,
  x: number,
  y: number,
  apart: NonNullable<TimedPoint['apart']>,
  link: MarkLink | undefined,
): void {
  if (apart === 'open') {
    builder.circle(x, y, 2.2, { fill: PAPER, stroke: DATA, strokeWidth: 0.9 }, link);
    return;
  }
  const away = apart === 'below' ? 5 : -5;
  builder.polygon(
    [
      { x: x - 2.6, y },
      { x: x + 2.6, y },
      { x, y: y + away },
    ],
    { fill: PAPER, stroke: DATA, strokeWidth: 0.9 },
    link,
  );
}

function diamond(builder: SceneBuilder, x: number, y: number, link: MarkLink | undefined): void {
  const half = 4.2;
  builder.polygon(
    [
      { x, y: y - half },
      { x: x + half, y },
      { x, y: y + half },
      { x: x - half, y },
    ],
    { fill: ATTENTION, stroke: PAPER, strokeWidth: 0.6 },
    link,
  );
}
