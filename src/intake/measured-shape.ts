import type { NewRevision } from '../store/entries.js';
import type { FoundFile } from './folder.js';
import type { ResultSheet } from './result-rules.js';

/** A file from which something was measured, and what it was then. */
export interface MeasuredFile extends FoundFile {
  readonly sha256: string;
}

/** A scan as it was measured, with the results that it gives. */
export interface MeasuredShape {
  readonly entry: NewRevision;
  /** Scans and meshes, those that are stored already among them. */
  readonly measured: readonly MeasuredFile[];
  /** Undefined where it gives no value of a characteristic. */
  readonly sheet?: ResultSheet & { readonly path: string };
}
