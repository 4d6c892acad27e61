import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { renderRecord } from './render-record.js';

/** Runs in a worker thread. */
export default answering(ofThisProgram(renderRecord));
