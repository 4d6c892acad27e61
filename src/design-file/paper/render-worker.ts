import { ofThisProgram } from '../../base/same-program.js';
import { answering } from '../../base/worker-answer.js';
import { renderPlaced } from './render-placed.js';

/** Runs in a worker thread. */
export default answering(ofThisProgram(renderPlaced));
