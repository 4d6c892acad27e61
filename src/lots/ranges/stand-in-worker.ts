import { type Sent, sent } from '../../base/same-program.js';
import { WorkerPool } from '../../base/worker-pool.js';
import { type Beside, standAll } from '../../design-history/standing-place.js';

type Asked = Parameters<typeof standAll>[0];

const pool = new WorkerPool<Sent<Asked>, Beside[]>(new URL('./stand-worker.js', import.meta.url));

/** So many points stand in a few milliseconds. */
const FEW = 40;

/** In a worker thread where there are many points; run from TypeScript sources, in this one with the same result. */
export async function standInWorker(asked: Asked): Promise<Beside[]> {
  const points = asked.reduce((sum, { sets }) => sum + sets.reduce((own, set) => own + set.points.length, 0), 0);
  return points > FEW && pool.isCompiled ? pool.run(sent(asked), {}) : standAll(asked);
}
