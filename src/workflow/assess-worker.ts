import { AppError, type ErrorCode } from '../errors.js';
import { DataFolder } from '../store/data-folder.js';
import { Store } from '../store/store.js';
import { freezeAndAssess } from './freeze.js';

export interface AssessTask {
  readonly folder: string;
  readonly lot: string;
  readonly actor: string;
}

/** An error loses its class and facts on the way between threads, so what is wrong is sent as data. */
export type AssessAnswer =
  | { readonly dossierSha256: string; readonly assessmentSha256: string }
  | { readonly code: ErrorCode; readonly message: string; readonly facts: Readonly<Record<string, unknown>> };

/** Runs in a worker thread, with connections of its own: not even reading a long table holds up the service. */
export default async function assessInThisThread({ folder, lot, actor }: AssessTask): Promise<AssessAnswer> {
  const store = await Store.open(DataFolder.open(folder));
  try {
    const { dossierSha256, assessmentSha256 } = await freezeAndAssess(store, lot, actor);
    return { dossierSha256, assessmentSha256 };
  } catch (error) {
    if (error instanceof AppError) return { code: error.code, message: error.message, facts: error.facts };
    throw error;
  } finally {
    await store.close();
  }
}
