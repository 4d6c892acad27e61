import type { Stretch } from './stretch.js';

/** The row that holds until the next one comes. */
export interface HeldRow {
  timeUs: number;
  line: number;
  /** For how long it holds; known when the next row is there. */
  forUs: number;
  stretch: Stretch;
}
