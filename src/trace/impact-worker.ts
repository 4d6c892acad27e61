import { ofThisProgram } from '../base/same-program.js';
import { telling } from '../base/telling-worker.js';
import { withBorrowedStore } from '../store/borrowed-store.js';
import { type ImpactAsked, impactOf, type LotsLooked } from './impact.js';
import type { ImpactAnswer } from './impact-answer.js';

export interface ImpactTask {
  readonly folder: string;
  readonly asked: ImpactAsked;
}

const impactIn = ({ folder, asked }: ImpactTask, onProgress: (looked: LotsLooked) => void): Promise<ImpactAnswer> =>
  withBorrowedStore(folder, (store) => impactOf(store, asked, onProgress));

/** Runs in a worker thread, with connections of its own: lots are assessed twice, and the service stays responsive. */
export default telling(ofThisProgram(impactIn));
