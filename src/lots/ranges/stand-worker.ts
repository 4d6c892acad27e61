import { ofThisProgram } from '../../base/same-program.js';
import { answering } from '../../base/worker-answer.js';
import { standAll } from '../../design-history/standing-place.js';

/** Runs in a worker thread. */
export default answering(ofThisProgram(async (asked: Parameters<typeof standAll>[0]) => standAll(asked)));
