import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { renderAnswer } from './render-answer.js';

/** Runs in a worker thread: an answer may have thousands of rows. */
export default answering(ofThisProgram(renderAnswer));
