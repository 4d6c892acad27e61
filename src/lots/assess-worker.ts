import { answering } from '../base/worker-answer.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { freezeAndAssess } from './freeze.js';

export interface AssessTask {
  readonly folder: string;
  readonly lot: string;
  readonly actor: string;
}

export interface AssessedDigests {
  readonly dossierSha256: string;
  readonly assessmentSha256: string;
}

/** Runs in a worker thread, with connections of its own: not even reading a long table holds up the service. */
export default answering(async ({ folder, lot, actor }: AssessTask): Promise<AssessedDigests> => {
  const store = await Store.open(DataFolder.open(folder));
  try {
    const { dossierSha256, assessmentSha256 } = await freezeAndAssess(store, lot, actor);
    return { dossierSha256, assessmentSha256 };
  } finally {
    await store.close();
  }
});
