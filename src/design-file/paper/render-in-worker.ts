import { type Sent, sent } from '../../base/same-program.js';
import { WorkerPool } from '../../base/worker-pool.js';
import type { DesignFileContent, renderDesign } from './render.js';

type Rendered = Awaited<ReturnType<typeof renderDesign>>;

const pool = new WorkerPool<Sent<DesignFileContent>, Rendered>(new URL('./render-worker.js', import.meta.url));

/** Renders the file of a design in a worker thread, from TypeScript sources in this one with the same result. */
export async function renderDesignInWorker(content: DesignFileContent): Promise<Rendered> {
  if (pool.isCompiled) return pool.run(sent(content), {});
  return (await import('./render.js')).renderDesign(content);
}
