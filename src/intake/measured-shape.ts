import type { NewRevision } from '../store/entries.js';
import type { ResultSheet } from './result-rules.js';

/** A scan as it was measured, with the results that it gives. */
export interface MeasuredShape {
  readonly entry: NewRevision;
  /** Undefined where it gives no value of a characteristic. */
  readonly sheet?: ResultSheet & { readonly path: string };
}
