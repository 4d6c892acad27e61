import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import type { Content } from './drawn.js';
import type { RenderedRecord } from './render-record.js';

const pool = new WorkerPool<Sent<Content>, RenderedRecord>(new URL('./render-worker.js', import.meta.url));

/**
 * Renders a record or the paper of a statement in a worker thread, from TypeScript sources in this one with the same result.
 * @param signal ends it early: then it rejects with an AbortError.
 * @throws as `renderRecord`; AppError BUSY when the program was replaced while it runs.
 */
export async function renderInWorker(content: Content, signal?: AbortSignal): Promise<RenderedRecord> {
  if (pool.isCompiled) return pool.run(sent(content), { signal });
  const { drawn } = await import('./drawn.js');
  return drawn(content);
}
