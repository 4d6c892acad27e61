import { AppError, NotFoundError } from '../base/errors.js';
import { kindText } from '../report/phrases/kinds.js';
import { speltNearlyText } from '../report/phrases/problems.js';
import type { Store } from '../store/store.js';

/** The error of whoever asked for what is not there, with what is there and spelt nearly so; any other as it is. */
export async function withNearSpellings(error: unknown, store: Store): Promise<unknown> {
  if (!(error instanceof NotFoundError)) return error;
  const near = await store.read.trace.near(error.key);
  if (near.length === 0) return error;
  const said = near.map(({ kind, key }) => `${key} (${kindText(kind)})`);
  return new AppError('NOT_FOUND', speltNearlyText(error.message, said), { ...error.facts, near });
}
