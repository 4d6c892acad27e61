import type { Level } from '../../process-logs/levels.js';

/**
 * Our own colours. Each step differs in lightness as well as in hue, so that they stay apart for colour-blind readers
 * and on a grey printer; shape, dash and word carry the meaning, colour only helps.
 */
export const MUTED = '#55606c';
export const RULE = '#d5dae0';
export const PAPER = '#ffffff';
export const DATA = '#1f4e6b';
export const DATA_LIGHT = '#b9cfdc';
export const SPECIFICATION = '#8a3b12';
export const LIMIT_OF_CHART = '#3d6f8c';
export const ATTENTION = '#a12a4a';
export const ATTENTION_LIGHT = '#f6e4e9';
export const UNDECIDED = '#6f5a10';
export const UNDECIDED_LIGHT = '#f4ecd0';
export const CALM_LIGHT = '#e6eff4';
/** What a specification allows. */
export const BAND = '#faf3ec';

/** One hue: darker means more severe, and the dash grows with the level too. */
export const LEVEL_COLOUR: Readonly<Record<Level, string>> = { alert: '#b9788f', action: '#a12a4a', reject: '#6b1230' };
export const LEVEL_DASH: Readonly<Record<Level, readonly [number, number]>> = {
  alert: [1.5, 2],
  action: [4, 2.5],
  reject: [9, 2.5],
};
