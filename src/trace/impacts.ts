import { Injectable } from '@nestjs/common';
import { type Sent, sent } from '../base/same-program.js';
import { runTelling, type Telling } from '../base/telling-worker.js';
import { WorkerPool } from '../base/worker-pool.js';
import { Store } from '../store/store.js';
import type { ImpactAsked, LotsLooked } from './impact.js';
import type { ImpactAnswer } from './impact-answer.js';
import type { ImpactTask } from './impact-worker.js';

const pool = new WorkerPool<Telling<Sent<ImpactTask>>, ImpactAnswer>(new URL('./impact-worker.js', import.meta.url));

/** Answers what it means that something was off: of a service in a worker, of a command in its own thread. */
@Injectable()
export class Impacts {
  constructor(private readonly store: Store) {}

  /**
   * @param onProgress is told how many lots were looked at.
   * @param signal ends it early, where it runs in a worker.
   * @throws as `impactOf`; AppError BUSY when the program was replaced while it runs.
   */
  async of(
    asked: ImpactAsked,
    onProgress: (looked: LotsLooked) => void = () => {},
    signal?: AbortSignal,
  ): Promise<ImpactAnswer> {
    if (this.store.isService && pool.isCompiled) {
      return runTelling(pool, sent({ folder: this.store.folder.path, asked }), onProgress, signal);
    }
    const { impactOf } = await import('./impact.js');
    return impactOf(this.store, asked, onProgress);
  }
}
