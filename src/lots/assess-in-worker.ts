import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import type { AssessedDigests, AssessTask } from './assess-worker.js';

const pool = new WorkerPool<Sent<AssessTask>, AssessedDigests | null>(new URL('./assess-worker.js', import.meta.url));

/** True where there is a compiled worker; run from TypeScript sources there is none. */
export const canAssessInWorker = (): boolean => pool.isCompiled;

type Asked = Omit<AssessTask, 'what'>;

/**
 * Freezes and assesses a lot in a worker thread, one at a time, and stores both there.
 * @returns the digests of what was stored.
 * @throws AppError as `freezeAndAssess`; BUSY when the program was replaced while it runs.
 */
export const freezeInWorker = async (task: Asked): Promise<AssessedDigests> =>
  (await pool.run(sent({ ...task, what: 'lot as it stands' })))!;

/** The same for the lot file that is stored, as `assessAgain`. */
export async function assessAgainInWorker(task: Asked): Promise<void> {
  await pool.run(sent({ ...task, what: 'stored lot file' }));
}
