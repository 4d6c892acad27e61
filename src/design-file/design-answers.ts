import { Injectable } from '@nestjs/common';
import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import { Store } from '../store/store.js';
import { DesignFiles } from './design-files.js';
import type { Answered, DesignQuestion, DesignQuestions, DesignReplies } from './design-questions.js';
import type { DesignTask } from './design-worker.js';

const pool = new WorkerPool<Sent<DesignTask>, Answered<unknown>>(new URL('./design-worker.js', import.meta.url));

/** So many revisions are read and walked in some 50 ms. */
const FEW = 250;

/**
 * Answers what is asked of a design: where it is large, and for its file, of a service in a worker thread, so that pages of
 * others do not wait for it; else, and of a command, in its own.
 */
@Injectable()
export class DesignAnswers {
  /** Revisions of each family when it was asked last. Of one that nobody asked yet it may be any number. */
  private readonly sizes = new Map<string, number>();

  constructor(
    private readonly store: Store,
    private readonly designs: DesignFiles,
  ) {}

  /** @throws as `answerDesign`; AppError BUSY when the program was replaced while it runs. */
  async ask<K extends keyof DesignQuestions>(of: K, given: DesignQuestions[K]): Promise<DesignReplies[K]> {
    const asked = { of, ...given } as DesignQuestion;
    const { reply, revisions } = await this.answered(asked);
    this.sizes.set(asked.family, revisions);
    return reply as DesignReplies[K];
  }

  /** Families of whose design something is written down, in the order of their codes. */
  families(): Promise<string[]> {
    return this.designs.families();
  }

  private async answered(asked: DesignQuestion): Promise<Answered<unknown>> {
    const { store, designs, sizes } = this;
    const takesLong = asked.of === 'paper' || (sizes.get(asked.family) ?? Number.POSITIVE_INFINITY) > FEW;
    if (takesLong && store.isService && pool.isCompiled) return pool.run(sent({ folder: store.folder.path, asked }));
    const { answerDesign } = await import('./design-questions.js');
    return answerDesign(designs, asked);
  }
}
