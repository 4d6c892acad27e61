import { existsSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Transferable } from 'node:worker_threads';
import type { Piscina } from 'piscina';
import { AppError } from './errors.js';
import { MOST } from './limits.js';
import { type Answer, taken } from './worker-answer.js';

/** An idle thread goes away after this time, so that commands end and a service sleeps. */
const IDLE_MS = 2000;
/** So much less than the pages of a service: of a core that both want, pages get nine parts in ten. */
const GIVES_WAY = 10;

let niceIncrement = 0;

/**
 * From now on threads give way to this one, which answers people meanwhile. A command waits for its threads, and asks for
 * nothing. Elsewhere than on Linux the priority is that of the whole process, and stays as it is.
 */
export function letThreadsGiveWay(): void {
  if (process.platform === 'linux') niceIncrement = GIVES_WAY;
}

export interface RunOptions {
  /** Ends the task early: the promise then rejects with an AbortError. */
  readonly signal?: AbortSignal | undefined;
  readonly transferList?: Transferable[];
}

/** How much a worker thread has to do, for whoever watches the service. */
export interface WorkerLoad {
  readonly name: string;
  readonly running: number;
  readonly waiting: number;
  /** Tasks that were not taken, since the start, because too many waited. */
  readonly refused: number;
}

const POOLS: WorkerPool<never, unknown>[] = [];

/** Of each worker thread that this program may start. */
export const workerLoads = (): WorkerLoad[] => POOLS.map((pool) => pool.load);

/** Until a task has ended nothing is known of how long they take. */
const SUPPOSED_MS = 2000;

/**
 * A worker thread for tasks of one kind, so that the service stays responsive: one task at a time, others wait, and no more
 * than a few do.
 */
export class WorkerPool<Task, Value> {
  private readonly file: string;
  private open = 0;
  private refused = 0;
  private tookMs = SUPPOSED_MS;
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
    POOLS.push(this as WorkerPool<never, unknown>);
  }

  get load(): WorkerLoad {
    const { open, refused } = this;
    return { name: path.parse(this.file).name, running: Math.min(open, 1), waiting: Math.max(open - 1, 0), refused };
  }

  /** False when run from TypeScript sources: there is no compiled worker, and the caller does the task in its own thread. */
  get isCompiled(): boolean {
    return existsSync(this.file);
  }

  /**
   * @throws as the task does, with class, code and facts; AppError BUSY, with the seconds after which to try again, when too
   *   many tasks wait.
   */
  async run(task: Task, { signal, transferList }: RunOptions = {}): Promise<Value> {
    if (this.open > MOST.workerWaiting) this.refuse();
    this.open += 1;
    const begun = performance.now();
    const before = this.open;
    try {
      this.threads ??= this.begin();
      const threads = await this.threads;
      const answer = await threads.run(task, {
        ...(signal === undefined ? {} : { signal }),
        ...(transferList === undefined ? {} : { transferList }),
      });
      // Those that it waited for took about as long as it did.
      this.tookMs = (performance.now() - begun) / before;
      return taken(answer);
    } finally {
      this.open -= 1;
    }
  }

  private refuse(): never {
    this.refused += 1;
    const waitS = Math.max(1, Math.ceil((this.tookMs * this.open) / 1000));
    throw new AppError(
      'BUSY',
      `${this.open} others wait for the same already; nothing was done: try again in ${waitS} seconds`,
      { waitS },
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
      niceIncrement,
      ...(this.memoryMb === undefined ? {} : { resourceLimits: { maxOldGenerationSizeMb: this.memoryMb } }),
    });
  }
}
