import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Transferable } from 'node:worker_threads';
import type { Piscina } from 'piscina';
import { type Answer, taken } from './worker-answer.js';

/** An idle thread goes away after this time, so that commands end and a service sleeps. */
const IDLE_MS = 2000;

export interface RunOptions {
  /** Ends the task early: the promise then rejects with an AbortError. */
  readonly signal?: AbortSignal | undefined;
  readonly transferList?: Transferable[];
}

/** A worker thread for tasks of one kind, so that the service stays responsive: one task at a time, others wait. */
export class WorkerPool<Task, Value> {
  private readonly file: string;
  private threads: Promise<Piscina<Task, Answer<Value>>> | undefined;

  /**
   * @param file the compiled worker, whose default export is made by `answering`.
   * @param memoryMb what the thread may take before it is ended.
   */
  constructor(
    file: URL,
    private readonly memoryMb?: number,
  ) {
    this.file = fileURLToPath(file);
  }

  /** False when run from TypeScript sources: there is no compiled worker, and the caller does the task in its own thread. */
  get isCompiled(): boolean {
    return existsSync(this.file);
  }

  /** @throws as the task does, with class, code and facts. */
  async run(task: Task, { signal, transferList }: RunOptions = {}): Promise<Value> {
    this.threads ??= this.begin();
    const threads = await this.threads;
    return taken(
      await threads.run(task, {
        ...(signal === undefined ? {} : { signal }),
        ...(transferList === undefined ? {} : { transferList }),
      }),
    );
  }

  /** The library is loaded by the first task: most commands have none. */
  private async begin(): Promise<Piscina<Task, Answer<Value>>> {
    const { Piscina } = await import('piscina');
    return new Piscina<Task, Answer<Value>>({
      filename: this.file,
      minThreads: 0,
      maxThreads: 1,
      idleTimeout: IDLE_MS,
      concurrentTasksPerWorker: 1,
      ...(this.memoryMb === undefined ? {} : { resourceLimits: { maxOldGenerationSizeMb: this.memoryMb } }),
    });
  }
}
