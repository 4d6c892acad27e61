import { answering } from '../../base/worker-answer.js';
import { runPdfTask } from './pdf-tasks.js';

/** What the reader of PDF may take, which no limit of the thread counts. Files that need more are no records. */
const MOST_BYTES = 192 * 1024 * 1024;
const PAGE_BYTES = 65_536;

interface Memory {
  readonly buffer: ArrayBuffer;
  grow(pages: number): number;
}

const { Memory } = (globalThis as unknown as { WebAssembly: { Memory: { prototype: Memory } } }).WebAssembly;
const { grow } = Memory.prototype;
Memory.prototype.grow = function (pages: number): number {
  if (this.buffer.byteLength + pages * PAGE_BYTES > MOST_BYTES) throw new RangeError('more memory than a record needs');
  return grow.call(this, pages);
};

/** Runs in a worker thread, whose own memory is limited by whoever starts it. */
export default answering(runPdfTask);
