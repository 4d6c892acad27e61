import type { ScaleLinear } from 'd3-scale';
import { scaleLinear } from 'd3-scale';
import { type Paint, type SceneBuilder, TEXT_SIZE } from '../../base/scene.js';
import { MUTED, RULE } from './palette.js';

/** The rectangle inside the axes, in scene units. */
export interface Area {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

export type Linear = ScaleLinear<number, number>;

export const TITLE_SIZE = 10;
const LINE_HEIGHT = 10.5;
const AXIS = '#7d8893';

/** The title over the full width, wrapped. Returns where the picture may begin. */
export function drawTitle(builder: SceneBuilder, title: string): number {
  const lines = title === '' ? [] : wrap(builder, title, builder.width, TITLE_SIZE, true);
  lines.forEach((line, index) => {
    builder.text(0, 10 + index * 13, line, { size: TITLE_SIZE, bold: true });
  });
  return 10 + lines.length * 13;
}

/** Lines of small text from the left edge. Returns where the next thing may begin. */
export function drawNotes(builder: SceneBuilder, y: number, notes: readonly string[]): number {
  const lines = notes.flatMap((note) => wrap(builder, note, builder.width, TEXT_SIZE, false));
  lines.forEach((line, index) => {
    builder.text(0, y + 8 + index * LINE_HEIGHT, line);
  });
  return y + lines.length * LINE_HEIGHT;
}

/** A domain around the values with some air; a single value gets air of its own size, and nothing below zero is shown without need. */
export function domainOf(values: readonly number[], airBelow = 0.08, airAbove = airBelow): [number, number] {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of values) {
    if (!Number.isFinite(value)) throw new RangeError(`a chart was given ${value}, which is no finite number`);
    low = Math.min(low, value);
    high = Math.max(high, value);
  }
  if (low > high) return [0, 1];
  const span = high - low || Math.abs(high) * 0.1 || 1;
  const from = low - span * airBelow;
  return [low >= 0 && from < 0 ? 0 : from, high + span * airAbove];
}

/** The vertical scale of the area, with the domain widened to round numbers. */
export function verticalScale(domain: readonly [number, number], area: Area): Linear {
  return scaleLinear(domain, [area.bottom, area.top]).nice(tickCount(area));
}

/** About as many ticks as leave each number on a vertical axis a line of its own. */
export function tickCount({ top, bottom }: Area): number {
  return Math.max(2, Math.min(5, Math.floor((bottom - top) / 14)));
}

export function horizontalScale(domain: readonly [number, number], area: Area): Linear {
  return scaleLinear(domain, [area.left, area.right]);
}

/** Tick labels with as many decimals as their distance needs, and a true minus sign. */
export function tickTexts(ticks: readonly number[]): string[] {
  const step = ticks.length > 1 ? Math.abs(ticks[1]! - ticks[0]!) : Math.abs(ticks[0] ?? 1) || 1;
  const largest = ticks.reduce((most, tick) => Math.max(most, Math.abs(tick)), 0);
  if (largest >= 1e6 || (largest > 0 && largest < 1e-4)) return ticks.map(powerText);
  const decimals = Math.min(9, Math.max(0, -Math.floor(Math.log10(step) + 1e-9)));
  return ticks.map((tick) => withMinus(tick.toFixed(decimals)));
}

/** A number with the given decimals and a true minus sign; never "−0". */
export function fixedText(value: number, decimals: number): string {
  if (Math.abs(value) >= 1e9) return powerText(value);
  return withMinus(value.toFixed(Math.max(0, Math.min(9, decimals))));
}

/** A limit as briefly as six significant digits allow. */
export function numberText(value: number): string {
  const size = Math.abs(value);
  if (size >= 1e6 || (size > 0 && size < 1e-4)) return powerText(value);
  return withMinus(String(Number(value.toPrecision(6))));
}

const SUPERSCRIPTS = '⁰¹²³⁴⁵⁶⁷⁸⁹';

function powerText(value: number): string {
  if (value === 0) return '0';
  const [mantissa, exponent] = Number(value.toPrecision(4)).toExponential().split('e') as [string, string];
  const digits = Array.from(exponent.replace(/[+-]/, ''), (digit) => SUPERSCRIPTS[Number(digit)]).join('');
  return `${withMinus(mantissa)}×10${exponent.startsWith('-') ? '⁻' : ''}${digits}`;
}

function withMinus(text: string): string {
  const positive = text.startsWith('-') ? text.slice(1) : undefined;
  if (positive === undefined) return text;
  return Number(positive) === 0 ? positive : `−${positive}`;
}

/** Room that the labels of a vertical axis and its turned title need at the left. */
export function leftMargin(builder: SceneBuilder, labels: readonly string[]): number {
  return 18 + widest(builder, labels);
}

export function widest(builder: SceneBuilder, texts: readonly string[], bold = false): number {
  return texts.reduce((most, text) => Math.max(most, builder.textWidth(text, TEXT_SIZE, bold)), 0);
}

export function drawVerticalAxis(
  builder: SceneBuilder,
  area: Area,
  scale: Linear,
  title: string,
  ticks: readonly number[] = scale.ticks(5),
): void {
  const labels = tickTexts(ticks);
  ticks.forEach((tick, index) => {
    builder.line(area.left, scale(tick), area.right, scale(tick), { stroke: RULE, strokeWidth: 0.5 });
    builder.text(area.left - 5, scale(tick) + 2.8, labels[index]!, { anchor: 'end', fill: MUTED });
  });
  const middle = (area.top + area.bottom) / 2;
  builder.text(8, middle, fitText(builder, title, area.bottom - area.top), { anchor: 'middle', turned: true });
}

export interface Tick {
  readonly at: number;
  readonly label: string;
}

/** No label of an axis is wider; a longer one ends in an ellipsis. */
const WIDEST_LABEL = 110;

/** Ticks that would print over each other are thinned to every second, third, … one. */
export function drawHorizontalAxis(
  builder: SceneBuilder,
  area: Area,
  scale: Linear,
  ticks: readonly Tick[],
  title: string,
): void {
  builder.line(area.left, area.bottom, area.right, area.bottom, { stroke: AXIS, strokeWidth: 0.8 });
  const labels = ticks.map((tick) => fitText(builder, tick.label, WIDEST_LABEL));
  const room = widest(builder, labels) + 8;
  const distance = ticks.length > 1 ? (scale(ticks.at(-1)!.at) - scale(ticks[0]!.at)) / (ticks.length - 1) : room;
  const every = Math.max(1, Math.ceil(room / Math.max(distance, 0.01)));
  let free = 0;
  ticks.forEach((tick, index) => {
    const half = builder.textWidth(labels[index]!) / 2;
    const x = Math.min(scale(tick.at), builder.width - half);
    if (index % every !== 0 || x - half < free) return;
    free = x + half + 3;
    builder.line(scale(tick.at), area.bottom, scale(tick.at), area.bottom + 3, { stroke: AXIS, strokeWidth: 0.8 });
    builder.text(x, area.bottom + 11.5, labels[index]!, { anchor: 'middle', fill: MUTED });
  });
  const middle = (area.left + area.right) / 2;
  builder.text(middle, area.bottom + 23, fitText(builder, title, area.right - area.left), { anchor: 'middle' });
}

/** Room below an area for tick labels and title of the horizontal axis. */
export const HORIZONTAL_AXIS_HEIGHT = 28;

export function numberTicks(scale: Linear, count: number): Tick[] {
  const ticks = scale.ticks(count);
  const labels = tickTexts(ticks);
  return ticks.map((at, index) => ({ at, label: labels[index]! }));
}

/** Slanted lines over a rectangle: a shade that survives a grey printer. */
export function hatch(builder: SceneBuilder, { left, right, top, bottom }: Area, paint: Paint, distance = 4): void {
  const height = bottom - top;
  for (let offset = distance / 2 - height; offset < right - left; offset += distance) {
    const fromX = Math.max(left, left + offset);
    const toX = Math.min(right, left + offset + height);
    if (toX - fromX < 0.05) continue;
    builder.line(fromX, bottom - (fromX - left - offset), toX, bottom - (toX - left - offset), paint);
  }
}

/** Pushes labels apart that would stand over each other, keeping their order. Takes and returns base lines. */
export function spread(wanted: readonly number[], gap: number, lowest: number, highest: number): number[] {
  const order = wanted.map((_, index) => index).sort((a, b) => wanted[a]! - wanted[b]!);
  const placed = [...wanted];
  let free = Number.NEGATIVE_INFINITY;
  for (const index of order) {
    placed[index] = Math.max(wanted[index]!, free, lowest);
    free = placed[index] + gap;
  }
  free = highest;
  for (const index of order.reverse()) {
    placed[index] = Math.min(placed[index]!, free);
    free = placed[index] - gap;
  }
  return placed;
}

/** Breaks a text into lines no wider than `width`; a longer word is cut. */
export function wrap(builder: SceneBuilder, text: string, width: number, size: number, bold: boolean): string[] {
  const fits = (line: string) => builder.textWidth(line, size, bold) <= width;
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/).filter((part) => part !== '')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (fits(longer)) {
      line = longer;
      continue;
    }
    if (line !== '') lines.push(line);
    line = word;
    while (!fits(line)) {
      let length = line.length - 1;
      while (length > 1 && !fits(line.slice(0, length))) length--;
      lines.push(line.slice(0, length));
      line = line.slice(length);
    }
  }
  return line === '' ? lines : [...lines, line];
}

/** The text, or its beginning with an ellipsis when it is wider than `width`. */
export function fitText(builder: SceneBuilder, text: string, width: number, size = TEXT_SIZE, bold = false): string {
  if (builder.textWidth(text, size, bold) <= width) return text;
  const characters = Array.from(text);
  let length = characters.length;
  while (length > 0 && builder.textWidth(`${characters.slice(0, length).join('')}…`, size, bold) > width) length--;
  return `${characters.slice(0, length).join('')}…`;
}
