import { MessageChannel } from 'node:worker_threads';
import { WorkerPool } from '../base/worker-pool.js';
import { measureShape, type ShapeProgress, type ShapeReport, type ShapeRequest } from './measure-shape.js';
import type { ShapeTask } from './worker.js';

const pool = new WorkerPool<ShapeTask, ShapeReport>(new URL('./worker.js', import.meta.url));

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
  if (!pool.isCompiled) return measureShape(request, onProgress, signal);
  const { port1, port2 } = new MessageChannel();
  port1.on('message', onProgress);
  try {
    return await pool.run({ request, progress: port2 }, { signal, transferList: [port2] });
  } finally {
    port1.close();
  }
}
