import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';
import { AppError, BadInputError } from '../errors.js';
import { type RecordContent, type RenderedRecord, renderRecord } from './render-record.js';
import type { RenderAnswer } from './render-worker.js';

const WORKER_FILE = fileURLToPath(new URL('./render-worker.js', import.meta.url));
/** An idle worker goes away after this time, so that commands end and a service sleeps. */
const IDLE_MS = 2000;

let pool: Piscina<RecordContent, RenderAnswer> | undefined;

/**
 * Renders a record in a worker thread, so that the service stays responsive; one at a time, others wait. Run from
 * TypeScript sources, where there is no compiled worker, it renders in this thread with the same result.
 * @throws as `renderRecord`.
 */
export async function renderInWorker(content: RecordContent): Promise<RenderedRecord> {
  if (!existsSync(WORKER_FILE)) return renderRecord(content);
  const answer = await renderPool().run(content);
  if ('rendered' in answer) return answer.rendered;
  if ('problems' in answer) throw new BadInputError(answer.problems);
  throw new AppError(answer.code, answer.message, answer.facts);
}

function renderPool(): Piscina<RecordContent, RenderAnswer> {
  pool ??= new Piscina<RecordContent, RenderAnswer>({
    filename: WORKER_FILE,
    minThreads: 0,
    maxThreads: 1,
    idleTimeout: IDLE_MS,
    concurrentTasksPerWorker: 1,
  });
  return pool;
}
