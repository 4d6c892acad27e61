import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import type { CalibrationCertificate } from './dcc.js';
import type { DccTask } from './dcc-worker.js';

const pool = new WorkerPool<Sent<DccTask>, CalibrationCertificate>(new URL('./dcc-worker.js', import.meta.url));

/**
 * Reads a digital calibration certificate and verifies its signatures in a worker thread: one of eight megabytes takes
 * seconds. Run from TypeScript sources in this one, with the same result.
 * @throws BadInputError as `readDcc`.
 */
export async function readDccFile(task: DccTask): Promise<CalibrationCertificate> {
  return pool.isCompiled ? pool.run(sent(task)) : (await import('./dcc-worker.js')).readDccAt(task);
}
