import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { type ImpactAsked, impactOf } from './impact.js';
import type { ImpactAnswer } from './impact-answer.js';

export interface ImpactTask {
  readonly folder: string;
  readonly asked: ImpactAsked;
}

async function impactIn({ folder, asked }: ImpactTask): Promise<ImpactAnswer> {
  const store = await Store.open(DataFolder.open(folder));
  try {
    return await impactOf(store, asked);
  } finally {
    await store.close();
  }
}

/** Runs in a worker thread, with connections of its own: lots are assessed twice, and the service stays responsive. */
export default answering(ofThisProgram(impactIn));
