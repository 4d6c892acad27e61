import { type Sent, sent } from '../../base/same-program.js';
import { WorkerPool } from '../../base/worker-pool.js';
import type { DesignFilePlaced, Rendered } from './render-placed.js';

const pool = new WorkerPool<Sent<DesignFilePlaced>, Rendered>(new URL('./render-worker.js', import.meta.url));

/** Renders the file of a design in a worker thread, from TypeScript sources in this one with the same result. */
export async function renderDesignInWorker(placed: DesignFilePlaced): Promise<Rendered> {
  if (pool.isCompiled) return pool.run(sent(placed));
  return (await import('./render-placed.js')).renderPlaced(placed);
}
