import type { MessagePort } from 'node:worker_threads';
import { answering } from '../base/worker-answer.js';
import { measureShape, type ShapeRequest } from './measure-shape.js';

export interface ShapeTask {
  readonly request: ShapeRequest;
  /** Where to tell how far it has come. */
  readonly progress: MessagePort;
}

/** Runs in a worker thread. */
export default answering(async ({ request, progress }: ShapeTask) => {
  try {
    return await measureShape(request, (state) => progress.postMessage(state));
  } finally {
    progress.close();
  }
});
