import { ofThisProgram } from '../base/same-program.js';
import { telling } from '../base/telling-worker.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { type ImpactAsked, impactOf, type LotsLooked } from './impact.js';
import type { ImpactAnswer } from './impact-answer.js';

export interface ImpactTask {
  readonly folder: string;
  readonly asked: ImpactAsked;
}

async function impactIn(
  { folder, asked }: ImpactTask,
  onProgress: (looked: LotsLooked) => void,
): Promise<ImpactAnswer> {
  const store = await Store.open(DataFolder.open(folder));
  try {
    return await impactOf(store, asked, onProgress);
  } finally {
    await store.close();
  }
}

/** Runs in a worker thread, with connections of its own: lots are assessed twice, and the service stays responsive. */
export default telling(ofThisProgram(impactIn));
