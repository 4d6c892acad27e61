import { changeBetween } from '../dossier/changes.js';
import type { StoredRevision } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';

/** Whether a document repeats a stored revision: asked of the store before a folder is copied, and in the change again. */

/** The revision that a document may repeat: the one of its number, or the latest. */
export const revisionBefore = (
  { entries }: Pick<Reads, 'entries'>,
  kind: string,
  key: string,
  number: number | undefined,
): Promise<StoredRevision | undefined> =>
  number === undefined ? entries.current(kind, key) : entries.revision(kind, key, number);

export const isSame = (before: StoredRevision | undefined, body: unknown): boolean =>
  before !== undefined && changeBetween(before.body, body) === 'same';
