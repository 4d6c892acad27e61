import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';
import { AppError } from '../errors.js';
import type { AssessAnswer, AssessTask } from './assess-worker.js';

const WORKER_FILE = fileURLToPath(new URL('./assess-worker.js', import.meta.url));
/** An idle worker goes away after this time, so that commands end and a service sleeps. */
const IDLE_MS = 2000;

let pool: Piscina<AssessTask, AssessAnswer> | undefined;

/** True where there is a compiled worker; run from TypeScript sources there is none. */
export const canAssessInWorker = (): boolean => existsSync(WORKER_FILE);

/**
 * Freezes and assesses a lot in a worker thread, one at a time, and stores both there.
 * @returns the digests of what was stored.
 * @throws AppError as `freezeAndAssess`.
 */
export async function assessInWorker(task: AssessTask): Promise<{ dossierSha256: string; assessmentSha256: string }> {
  const answer = await assessPool().run(task);
  if ('code' in answer) throw new AppError(answer.code, answer.message, answer.facts);
  return answer;
}

function assessPool(): Piscina<AssessTask, AssessAnswer> {
  pool ??= new Piscina<AssessTask, AssessAnswer>({
    filename: WORKER_FILE,
    minThreads: 0,
    maxThreads: 1,
    idleTimeout: IDLE_MS,
    concurrentTasksPerWorker: 1,
  });
  return pool;
}
