import { ofThisProgram } from '../../base/same-program.js';
import { answering } from '../../base/worker-answer.js';
import { renderDesign } from './render.js';

/** Runs in a worker thread. */
export default answering(ofThisProgram(renderDesign));
