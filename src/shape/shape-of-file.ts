import { runTelling, type Telling } from '../base/telling-worker.js';
import { WorkerPool } from '../base/worker-pool.js';
import { measureShape, type ShapeProgress, type ShapeReport, type ShapeRequest } from './measure-shape.js';

const pool = new WorkerPool<Telling<ShapeRequest>, ShapeReport>(new URL('./worker.js', import.meta.url));

/**
 * Measures a scan in a worker thread, from TypeScript sources in this one with the same result.
 * @param signal ends it early; the promise then rejects with an AbortError.
 * @throws BadInputError as `measureShape`.
 */
export async function shapeOfFile(
  request: ShapeRequest,
  onProgress: (progress: ShapeProgress) => void = () => {},
  signal?: AbortSignal,
): Promise<ShapeReport> {
  return pool.isCompiled ? runTelling(pool, request, onProgress, signal) : measureShape(request, onProgress, signal);
}
