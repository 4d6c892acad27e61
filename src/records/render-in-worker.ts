import { WorkerPool } from '../base/worker-pool.js';
import { type RecordContent, type RenderedRecord, renderRecord } from './render-record.js';

const pool = new WorkerPool<RecordContent, RenderedRecord>(new URL('./render-worker.js', import.meta.url));

/**
 * Renders a record in a worker thread, from TypeScript sources in this one with the same result.
 * @throws as `renderRecord`.
 */
export async function renderInWorker(content: RecordContent): Promise<RenderedRecord> {
  return pool.isCompiled ? pool.run(content) : renderRecord(content);
}
