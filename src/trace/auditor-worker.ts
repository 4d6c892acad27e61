import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotOverview } from '../lots/lot-overview.js';
import type { AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { withBorrowedStore } from '../store/borrowed-store.js';
import type { AuditorAnswer } from './auditor-answer.js';
import { type AuditorAsked, answerOf } from './auditor-rows.js';

export interface AuditorTask {
  readonly folder: string;
  readonly question: AuditorQuestionName;
  readonly asked: AuditorAsked;
}

const answerIn = ({ folder, question, asked }: AuditorTask): Promise<AuditorAnswer> =>
  withBorrowedStore(folder, (store) => {
    const services = { store, current: new CurrentAssessments(store), overview: new LotOverview(store) };
    return answerOf(services, question, asked);
  });

/** Runs in a worker thread, with connections of its own: an answer reads every lot, and the service stays responsive. */
export default answering(ofThisProgram(answerIn));
