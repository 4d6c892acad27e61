import { WorkerPool } from '../base/worker-pool.js';
import type { AssessedDigests, AssessTask } from './assess-worker.js';

const pool = new WorkerPool<AssessTask, AssessedDigests>(new URL('./assess-worker.js', import.meta.url));

/** True where there is a compiled worker; run from TypeScript sources there is none. */
export const canAssessInWorker = (): boolean => pool.isCompiled;

/**
 * Freezes and assesses a lot in a worker thread, one at a time, and stores both there.
 * @returns the digests of what was stored.
 * @throws AppError as `freezeAndAssess`.
 */
export const assessInWorker = (task: AssessTask): Promise<AssessedDigests> => pool.run(task);
