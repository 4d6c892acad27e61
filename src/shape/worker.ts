import { telling } from '../base/telling-worker.js';
import { measureShape } from './measure-shape.js';

/** Runs in a worker thread. */
export default telling(measureShape);
