import { compareDecimal } from '../base/decimal.js';
import type { Lot } from '../kinds/lot.js';
import type { Method } from '../kinds/method.js';
import type { Specification } from '../kinds/specification.js';

/** A moment before which a lot cannot be released, by what is on record, and the test that takes longest until then. */
export interface EarliestRelease {
  readonly at: string;
  /** Null where no test that is still missing says how long it lasts. */
  readonly longest: { readonly characteristic: string; readonly title: string; readonly hours: string } | null;
}

interface Asked {
  readonly lot: Pick<Lot, 'builds'>;
  readonly specification: Pick<Specification, 'characteristics'>;
  /** By `method` of a characteristic, the revision that the specification names. */
  readonly methodOf: (characteristic: Specification['characteristics'][number]) => Method | undefined;
  /** Codes of the characteristics of which planned values are not there. */
  readonly missing: ReadonlySet<string>;
}

/**
 * No test begins before the last closure was opened, and none ends before its method allows. What has no stated duration
 * takes no time here, so people are never told a later moment than the true one.
 */
export function earliestRelease({ lot, specification, methodOf, missing }: Asked): EarliestRelease {
  const opened = Math.max(0, ...lot.builds.map(({ openedAt }) => Date.parse(openedAt)));
  const tests = specification.characteristics
    .filter(({ characteristic, due }) => due !== 'after-release' && missing.has(characteristic))
    .flatMap((item) => {
      const hours = methodOf(item)?.duration?.hours;
      return hours === undefined ? [] : [{ characteristic: item.characteristic, title: item.title, hours }];
    })
    .sort((a, b) => compareDecimal(b.hours, a.hours));
  const [longest = null] = tests;
  const done = opened + Number(longest?.hours ?? 0) * 3_600_000;
  return { at: new Date(done).toISOString(), longest };
}

/** Nothing is released in the past. */
export const notBefore = ({ at, longest }: EarliestRelease, now: Date): EarliestRelease => ({
  at: new Date(Math.max(Date.parse(at), now.getTime())).toISOString(),
  longest,
});
