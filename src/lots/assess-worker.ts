import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { withBorrowedStore } from '../store/borrowed-store.js';
import { assessAgain } from './assess-again.js';
import { freezeAndAssess } from './freeze.js';

export interface AssessTask {
  readonly folder: string;
  readonly lot: string;
  readonly actor: string;
  readonly what: 'lot as it stands' | 'stored lot file';
}

export interface AssessedDigests {
  readonly dossierSha256: string;
  readonly assessmentSha256: string;
}

const assessIn = ({ folder, lot, actor, what }: AssessTask): Promise<AssessedDigests | null> =>
  withBorrowedStore(folder, async (store) => {
    if (what === 'stored lot file') {
      await assessAgain(store, lot, actor);
      return null;
    }
    const { dossierSha256, assessmentSha256 } = await freezeAndAssess(store, lot, actor);
    return { dossierSha256, assessmentSha256 };
  });

/** Runs in a worker thread, with connections of its own: not even reading a long table holds up the service. */
export default answering(ofThisProgram(assessIn));
