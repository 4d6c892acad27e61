import { partsSaid } from '../assessment/parts-in-lot.js';
import type { LotNow } from '../kinds/split-lot.js';
import { actNamed } from '../people/acts.js';
import { authorityFor, type Candidate } from '../people/authority.js';
import { logsOf, resultsOf } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import { doersOfLot } from './situation.js';

/** Who had no such part in a lot that they could not review it, or release it. */
export interface PeopleLeft {
  readonly reviewers: readonly string[];
  readonly releasers: readonly string[];
  /** Whether one of them can review it and another one release it. */
  readonly areEnough: boolean;
}

const REVIEW = actNamed('review a lot');
const RELEASE = actNamed('release units for distribution');

/** Asked of a lot that nobody has reviewed yet, as soon as it is there: people can still be kept out of its tests. */
export async function peopleLeft(read: Reads, lot: LotNow, candidates: readonly Candidate[]): Promise<PeopleLeft> {
  const parts = partsSaid([{ kind: 'lot', key: lot.lot, body: lot }], (await resultsOf(read, lot)).rows);
  const found = (await logsOf(read, lot)).flatMap(({ part }) => part.findings.map(({ id }) => id));
  const doers = await doersOfLot(read, lot.lot, parts, found);
  const who = (act: typeof REVIEW) =>
    candidates.filter((candidate) => authorityFor(act, candidate, doers).may).map(({ code }) => code);
  const [reviewers, releasers] = [who(REVIEW), who(RELEASE)];
  const areEnough = reviewers.some((reviewer) => releasers.some((releaser) => releaser !== reviewer));
  return { reviewers, releasers, areEnough };
}
