import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { withBorrowedStore } from '../store/borrowed-store.js';
import { DesignFiles } from './design-files.js';
import { type Answered, answerDesign, type DesignQuestion } from './design-questions.js';

export interface DesignTask {
  readonly folder: string;
  readonly asked: DesignQuestion;
}

const answerIn = ({ folder, asked }: DesignTask): Promise<Answered<unknown>> =>
  withBorrowedStore(folder, (store) => answerDesign(new DesignFiles(store), asked));

/** Runs in a worker thread, with connections of its own: a design has thousands of revisions, and the service stays responsive. */
export default answering(ofThisProgram(answerIn));
