import { type Sent, sent } from '../../base/same-program.js';
import { WorkerPool } from '../../base/worker-pool.js';
import type { EvidenceFile } from './content.js';
import type { DesignFileContent, renderDesign } from './render.js';

type Rendered = Awaited<ReturnType<typeof renderDesign>>;

const pool = new WorkerPool<Sent<DesignFileContent>, Rendered>(new URL('./render-worker.js', import.meta.url));

/**
 * Renders the file of a design in a worker thread, from TypeScript sources in this one with the same result. Bytes of evidence
 * that fill a memory of their own go over to it, and are gone here: they are never held twice.
 */
export async function renderDesignInWorker(content: DesignFileContent): Promise<Rendered> {
  if (pool.isCompiled) return pool.run(sent(content), { transferList: content.evidence.flatMap(ownMemory) });
  return (await import('./render.js')).renderDesign(content);
}

const ownMemory = ({ bytes: { buffer, byteLength } }: EvidenceFile): ArrayBuffer[] =>
  buffer instanceof ArrayBuffer && buffer.byteLength === byteLength ? [buffer] : [];
