import { ABSENT } from './absent.js';

/** A computed quantity as pages and records show it: four significant digits unless told otherwise. */
export const figureText = (value: number | null, digits = 4): string =>
  value === null ? ABSENT.notStated : String(Number(value.toPrecision(digits)));
