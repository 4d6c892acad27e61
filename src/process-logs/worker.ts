import { telling } from '../base/telling-worker.js';
import { scanBuild } from './build-scan.js';

/** Runs in a worker thread. */
export default telling(scanBuild);
