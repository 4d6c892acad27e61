import { answering } from '../../base/worker-answer.js';
import { runPdfTask } from './pdf-tasks.js';

/** Runs in a worker thread. */
export default answering(runPdfTask);
