import type { LogFacts } from '../dossier/schema.js';

/** A log that was taken in before, byte for byte or packed in another way. */
export interface SeenBefore {
  readonly earlier: LogFacts;
  readonly same: 'bytes' | 'text';
}

/**
 * Tells whether the content of a log is known already, whatever its name and whether it was packed: the first of `earlier`
 * with the same bytes or, after unpacking, the same text. The same log under another build is a mix-up.
 */
export function seenBefore(log: LogFacts, earlier: readonly LogFacts[]): SeenBefore | undefined {
  const found = earlier.find((other) => other.textSha256 === log.textSha256);
  if (found === undefined) return undefined;
  return { earlier: found, same: found.sha256 === log.sha256 ? 'bytes' : 'text' };
}
