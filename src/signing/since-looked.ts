import { differenceText } from '../report/phrases/differences.js';
import { changedSinceText } from '../report/phrases/since-looked.js';
import type { Reads } from '../store/repositories.js';
import type { Signable } from './signable.js';
import { differencesSince } from './signed-lot-file.js';
import type { Thing } from './thing.js';

/** What somebody is told when a thing is no longer what they named; undefined while it is, and where they named no content. */
export async function changedThing(
  read: Reads,
  { digest }: Thing,
  { title, subject, assessed }: Signable,
): Promise<string | undefined> {
  if (digest === null || digest === subject.digest) return undefined;
  const differences = assessed ? await differencesSince(read, digest, assessed.facts) : [];
  const known = differences.filter(({ what }) => !NOTHING_TO_COMPARE.has(what.code));
  return changedSinceText(
    title,
    known.map(({ what }) => differenceText(what)),
  );
}

const NOTHING_TO_COMPARE: ReadonlySet<string> = new Set(['lot file not here', 'lot file not readable']);
