import { actNamed } from '../people/acts.js';
import { authorityFor, type Candidate, type Doers } from '../people/authority.js';

/** Who had no such part in a lot that they could not review it, or release it. */
export interface PeopleLeft {
  readonly reviewers: readonly string[];
  readonly releasers: readonly string[];
  /** Whether one of them can review it and another one release it. */
  readonly areEnough: boolean;
}

const REVIEW = actNamed('review a lot');
const RELEASE = actNamed('release units for distribution');

/** Of a lot that nobody has reviewed yet. */
export function peopleLeft(doers: Doers, candidates: readonly Candidate[]): PeopleLeft {
  const who = (act: typeof REVIEW) =>
    candidates.filter((candidate) => authorityFor(act, candidate, doers).may).map(({ code }) => code);
  const [reviewers, releasers] = [who(REVIEW), who(RELEASE)];
  const areEnough = reviewers.some((reviewer) => releasers.some((releaser) => releaser !== reviewer));
  return { reviewers, releasers, areEnough };
}
