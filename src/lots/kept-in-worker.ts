import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import type { KeepTask } from './kept-worker.js';

const pool = new WorkerPool<Sent<KeepTask>, null>(new URL('./kept-worker.js', import.meta.url));

/** True where there is a compiled worker; run from TypeScript sources there is none. */
export const canMakeInWorker = (): boolean => pool.isCompiled;

/** Makes what is kept of lots anew in a worker thread, which keeps it there. */
export async function makeInWorker(task: KeepTask): Promise<void> {
  await pool.run(sent(task));
}
