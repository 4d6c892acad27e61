import { AppError } from '../base/errors.js';
import { PROGRAM_VERSION } from '../base/settings.js';

/**
 * Raised with each migration, and with each kind of thing or form of a body that a program before cannot read. A database
 * keeps the highest of those that stored into it, so that an older program beside a newer one stops.
 */
export const GENERATION = 3;

/** Name of the migration, without its time, that came last when this was raised last. */
export const LAST_MIGRATION = 'several_instances';

/** The highest generation of those that stored, and the version that did. */
interface Stored {
  readonly number: number | bigint;
  readonly version: string;
}

/** Why this program may not go on with a database, since it may misread it; undefined where it may. */
export function olderFault(found: Stored | undefined): AppError | undefined {
  if (found === undefined || Number(found.number) <= GENERATION) return undefined;
  return new AppError(
    'CONFLICT',
    `the database was changed by a newer program, and this one (version ${PROGRAM_VERSION}, generation ${GENERATION}) may misread it; nothing was stored: go on with version ${found.version} (generation ${Number(found.number)}) or a later one`,
  );
}
