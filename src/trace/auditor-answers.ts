import { Injectable } from '@nestjs/common';
import { type Sent, sent } from '../base/same-program.js';
import { WorkerPool } from '../base/worker-pool.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotOverview } from '../lots/lot-overview.js';
import type { AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { Store } from '../store/store.js';
import type { AuditorAnswer } from './auditor-answer.js';
import type { AuditorAsked } from './auditor-rows.js';
import type { AuditorTask } from './auditor-worker.js';

const pool = new WorkerPool<Sent<AuditorTask>, AuditorAnswer>(new URL('./auditor-worker.js', import.meta.url));

/** Answers what auditors ask: of a service in a worker, of a command in its own thread. */
@Injectable()
export class AuditorAnswers {
  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
    private readonly overview: LotOverview,
  ) {}

  /** @throws as `answerOf`; AppError BUSY when the program was replaced while it runs. */
  async answer(question: AuditorQuestionName, asked: AuditorAsked): Promise<AuditorAnswer> {
    const { store, current, overview } = this;
    if (store.isService && pool.isCompiled) return pool.run(sent({ folder: store.folder.path, question, asked }));
    const { answerOf } = await import('./auditor-rows.js');
    return answerOf({ store, current, overview }, question, asked);
  }
}
