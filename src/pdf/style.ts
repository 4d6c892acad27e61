import { INK } from '../base/scene.js';
import { verticalMetrics } from './fonts.js';
import type { TextSetting } from './text-layout.js';

export { INK };
export const MUTED = '#4c5763';
export const ACCENT = '#1f4e6b';
export const LINK = '#0f4c81';
export const HAIRLINE = '#c6cdd4';
export const HEAD_FILL = '#e4ecf1';
export const ATTENTION_BAR = '#8c1d3f';
export const ATTENTION_FILL = '#f6e8ec';

export const BODY: TextSetting = { face: 'regular', sizePt: 9.5 };
export const SMALL: TextSetting = { face: 'regular', sizePt: 8 };
export const SMALL_STRONG: TextSetting = { face: 'bold', sizePt: 8 };
export const STRONG: TextSetting = { face: 'bold', sizePt: 9.5 };
export const CAPTION: TextSetting = { face: 'italic', sizePt: 8.5 };
export const CELL: TextSetting = { face: 'regular', sizePt: 8 };
export const CELL_HEAD: TextSetting = { face: 'bold', sizePt: 8 };
export const TITLE: TextSetting = { face: 'bold', sizePt: 20 };
export const HEADING: Readonly<Record<1 | 2 | 3, TextSetting>> = {
  1: { face: 'bold', sizePt: 15 },
  2: { face: 'bold', sizePt: 12 },
  3: { face: 'bold', sizePt: 10 },
};

/** Distance of base lines in points. */
export function lineHeight(setting: TextSetting): number {
  return Math.round(setting.sizePt * 134) / 100;
}

/** From the top of a line to its base line, in points: the letters stand in the middle of the line. */
export function baseLine(setting: TextSetting): number {
  const { ascent, descent } = verticalMetrics(setting.face);
  const letters = ((ascent + descent) / 1000) * setting.sizePt;
  return (lineHeight(setting) - letters) / 2 + (ascent / 1000) * setting.sizePt;
}
