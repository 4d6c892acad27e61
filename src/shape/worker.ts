import { telling } from '../base/telling-worker.js';
import { type ChangeReport, type ChangeRequest, measureChange } from './measure-change.js';
import { measureShape, type ShapeReport, type ShapeRequest } from './measure-shape.js';
import type { ShapeProgress } from './progress.js';

/** What is to be measured: one scan against a design, or two scans of stock against each other. */
export type Measurement =
  | { readonly shape: ShapeRequest; readonly change?: never }
  | { readonly change: ChangeRequest; readonly shape?: never };

const measured = (
  { shape, change }: Measurement,
  tell: (progress: ShapeProgress) => void,
): Promise<ShapeReport | ChangeReport> => (shape ? measureShape(shape, tell) : measureChange(change!, tell));

/** Runs in a worker thread. */
export default telling(measured);
