import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotOverview } from '../lots/lot-overview.js';
import type { AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import type { AuditorAnswer } from './auditor-answer.js';
import { type AuditorAsked, answerOf } from './auditor-rows.js';

export interface AuditorTask {
  readonly folder: string;
  readonly question: AuditorQuestionName;
  readonly asked: AuditorAsked;
}

async function answerIn({ folder, question, asked }: AuditorTask): Promise<AuditorAnswer> {
  const store = await Store.open(DataFolder.open(folder));
  try {
    const services = { store, current: new CurrentAssessments(store), overview: new LotOverview(store) };
    return await answerOf(services, question, asked);
  } finally {
    await store.close();
  }
}

/** Runs in a worker thread, with connections of its own: an answer reads every lot, and the service stays responsive. */
export default answering(ofThisProgram(answerIn));
