import { runTelling, type Telling } from '../base/telling-worker.js';
import { WorkerPool } from '../base/worker-pool.js';
import { type ChangeReport, type ChangeRequest, measureChange } from './measure-change.js';
import { measureShape, type ShapeReport, type ShapeRequest } from './measure-shape.js';
import type { ShapeProgress } from './progress.js';
import type { Measurement } from './worker.js';

const pool = new WorkerPool<Telling<Measurement>, ShapeReport | ChangeReport>(new URL('./worker.js', import.meta.url));

type OnProgress = (progress: ShapeProgress) => void;

/**
 * Measures a scan in a worker thread, from TypeScript sources in this one with the same result.
 * @param signal ends it early; the promise then rejects with an AbortError.
 * @throws BadInputError as `measureShape`.
 */
export async function shapeOfFile(
  request: ShapeRequest,
  onProgress: OnProgress = () => {},
  signal?: AbortSignal,
): Promise<ShapeReport> {
  if (!pool.isCompiled) return measureShape(request, onProgress, signal);
  return (await runTelling(pool, { shape: request }, onProgress, signal)) as ShapeReport;
}

/** The same of two scans of a stock part. @throws BadInputError as `measureChange`. */
export async function changeOfFiles(
  request: ChangeRequest,
  onProgress: OnProgress = () => {},
  signal?: AbortSignal,
): Promise<ChangeReport> {
  if (!pool.isCompiled) return measureChange(request, onProgress, signal);
  return (await runTelling(pool, { change: request }, onProgress, signal)) as ChangeReport;
}
