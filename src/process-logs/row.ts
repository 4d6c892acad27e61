import type { DewPointTrouble } from '../dossier/finding-detail.js';
import type { Stretch } from './stretch.js';

/** A row as a reader hands it to the scanner. The scanner keeps the array of values and leaves another one for it. */
export interface LogRow {
  /** Microseconds since 1970, recorder's clock. */
  readonly timeUs: number;
  /** NO_LAYER when the row names none. */
  readonly layer: number;
  readonly zone: string;
  readonly step: string;
  /** Changes whenever zone or step may have changed. */
  readonly placeChanges: number;
  /** In the order and unit of the plan; NaN where there is none. */
  values: Float64Array;
  /** Channels of this row whose cell was empty, or said NaN. */
  readonly blanks: readonly number[];
  readonly notNumbers: readonly number[];
  /** Names of the files that say something at this time; absent when there is only one file. */
  readonly files?: readonly string[];
  /** Channels of this row whose dew point could not be turned into a share of moisture, and why. */
  readonly unconverted?: readonly { readonly channel: number; readonly trouble: DewPointTrouble }[];
}

/** The row that holds until the next one comes. */
export interface HeldRow {
  timeUs: number;
  line: number;
  /** For how long it holds; known when the next row is there. */
  forUs: number;
  stretch: Stretch;
}
