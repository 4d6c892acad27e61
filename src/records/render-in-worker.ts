import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import type { RecordContent, RenderedRecord } from './render-record.js';

const pool = new WorkerPool<Sent<RecordContent>, RenderedRecord>(new URL('./render-worker.js', import.meta.url));

/**
 * Renders a record in a worker thread, from TypeScript sources in this one with the same result.
 * @param signal ends it early: then it rejects with an AbortError.
 * @throws as `renderRecord`; AppError BUSY when the program was replaced while it runs.
 */
export async function renderInWorker(content: RecordContent, signal?: AbortSignal): Promise<RenderedRecord> {
  if (pool.isCompiled) return pool.run(sent(content), { signal });
  const { renderRecord } = await import('./render-record.js');
  return renderRecord(content);
}
