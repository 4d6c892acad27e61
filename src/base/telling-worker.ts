import { MessageChannel, type MessagePort } from 'node:worker_threads';
import { type Answer, answering } from './worker-answer.js';
import type { WorkerPool } from './worker-pool.js';

/** A request to a worker thread, with a way back for how far it is. */
export interface Telling<Request> {
  readonly request: Request;
  readonly progress: MessagePort;
}

/**
 * Runs a task in a worker thread and passes on how far it is.
 * @param signal ends it early; the promise then rejects with an AbortError.
 * @throws as the task does.
 */
export async function runTelling<Request, Told, Value>(
  pool: WorkerPool<Telling<Request>, Value>,
  request: Request,
  onProgress: (told: Told) => void,
  signal?: AbortSignal,
): Promise<Value> {
  const { port1, port2 } = new MessageChannel();
  port1.on('message', onProgress);
  try {
    return await pool.run({ request, progress: port2 }, { signal, transferList: [port2] });
  } finally {
    port1.close();
  }
}

/** What such a worker exports. */
export const telling = <Request, Told, Value>(
  work: (request: Request, onProgress: (told: Told) => void) => Promise<Value>,
): ((task: Telling<Request>) => Promise<Answer<Value>>) =>
  answering(async ({ request, progress }) => {
    try {
      return await work(request, (told) => progress.postMessage(told));
    } finally {
      progress.close();
    }
  });
