import type { Mark, Paint, Scene, TextMark } from '../base/scene.js';
import type { Box } from './sheet.js';

/** Operators of PDF content streams (ISO 32000-1, annex A), in the record's page coordinates: y counts downwards. */

/** Beyond this, a number may be written with an exponent or have no hundredths. */
const MOST_HUNDREDTHS = 1e9;

export function number(value: number): string {
  if (!Number.isFinite(value)) throw new RangeError(`a page was asked to draw at ${value}`);
  const hundredths = Math.round(value * 100);
  const size = Math.abs(hundredths);
  if (size > MOST_HUNDREDTHS) return String(hundredths / 100);
  // Whole numbers are written many times faster than fractions.
  const rest = size % 100;
  const whole = `${hundredths < 0 ? '-' : ''}${(size - rest) / 100}`;
  if (rest === 0) return whole;
  return rest % 10 === 0 ? `${whole}.${rest / 10}` : `${whole}.${rest < 10 ? '0' : ''}${rest}`;
}

export function numbers(...values: readonly number[]): string {
  let text = '';
  for (const value of values) text += text === '' ? number(value) : ` ${number(value)}`;
  return text;
}

const colours = new Map<string, string>();

/** `#rrggbb` as three components from 0 to 1. */
export function components(colour: string): string {
  let found = colours.get(colour);
  if (found === undefined) {
    const parts = [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16) / 255);
    found = parts.map((part) => String(Math.round(part * 1000) / 1000)).join(' ');
    colours.set(colour, found);
  }
  return found;
}

export function filledRect({ x, y, w, h }: Box, fill: string): string {
  return `${components(fill)} rg ${numbers(x, y, w, h)} re f`;
}

export function strokedLine(
  { x1, y1, x2, y2 }: { readonly x1: number; readonly y1: number; readonly x2: number; readonly y2: number },
  colour: string,
  width: number,
): string {
  return `${components(colour)} RG ${number(width)} w ${numbers(x1, y1)} m ${numbers(x2, y2)} l S`;
}

/** Draws every mark of a scene but texts, which `putText` sets, and leaves the graphics state as it was. */
export function drawScene(
  scene: Scene,
  box: Box,
  add: (operators: string) => void,
  putText: (mark: TextMark) => void,
): void {
  const scale = Math.round((box.w / scene.width) * 1e5) / 1e5;
  add(`q ${scale} 0 0 ${scale} ${numbers(box.x, box.y)} cm`);
  for (const mark of scene.marks) {
    if (mark.kind === 'text') putText(mark);
    else add(`q ${outline(mark)} Q`);
  }
  add('Q');
}

function outline(mark: Exclude<Mark, TextMark>): string {
  return `${paintState(mark)}${geometry(mark)} ${paintOperator(mark)}`;
}

function geometry(mark: Exclude<Mark, TextMark>): string {
  switch (mark.kind) {
    case 'rect':
      return `${numbers(mark.x, mark.y, mark.w, mark.h)} re`;
    case 'line':
      return `${numbers(mark.x1, mark.y1)} m ${numbers(mark.x2, mark.y2)} l`;
    case 'circle':
      return circle(mark.x, mark.y, mark.r);
    case 'path':
      return pathOperators(mark.d);
  }
}

function paintState({ fill, stroke, strokeWidth = 1, dash }: Paint): string {
  const fills = fill ? `${components(fill)} rg ` : '';
  const strokes = stroke ? `${components(stroke)} RG ${number(strokeWidth)} w ` : '';
  return `${fills}${strokes}${dash ? `[${numbers(...dash)}] 0 d ` : ''}`;
}

function paintOperator({ fill, stroke }: Paint): string {
  if (fill && stroke) return 'B';
  if (fill) return 'f';
  return stroke ? 'S' : 'n';
}

/** How far the control points of a quarter circle stand from its ends, for a radius of 1. */
const QUARTER = 0.5523;

function circle(x: number, y: number, r: number): string {
  const k = r * QUARTER;
  return [
    `${numbers(x + r, y)} m`,
    `${numbers(x + r, y + k, x + k, y + r, x, y + r)} c`,
    `${numbers(x - k, y + r, x - r, y + k, x - r, y)} c`,
    `${numbers(x - r, y - k, x - k, y - r, x, y - r)} c`,
    `${numbers(x + k, y - r, x + r, y - k, x + r, y)} c h`,
  ].join(' ');
}

const PATH_OPERATOR: Readonly<Record<string, string>> = { M: 'm', L: 'l', C: 'c', Z: 'h' };

/** Path data of scenes: absolute moves, lines, cubics and closes. */
export function pathOperators(d: string): string {
  const steps = d.match(/[MLCZ][^MLCZ]*/g) ?? [];
  return steps.map((step) => `${step.slice(1).trim()} ${PATH_OPERATOR[step[0]!]}`.trim()).join(' ');
}
