import { type Clock, stamp } from '../base/clock.js';
import type { Problem } from '../base/errors.js';
import { timesThatHappened } from '../kinds/happened.js';
import type { Known } from './known.js';
import { fieldText, type ReadDocument } from './yaml-document.js';

/** How far the clocks of instruments and other machines may run ahead of ours. */
const TOLERANCE_MS = 5 * 60_000;
/** Where a day begins first. A document names no zone with a day, so the day is refused only when it has begun nowhere. */
const FIRST_ZONE = '+14:00';
const DAY_LENGTH = 'yyyy-mm-dd'.length;

/** Where the time of a fact stands, and how it is written there: a moment with its offset, or a calendar date. */
interface Told {
  readonly file: string;
  readonly line?: number;
  readonly field: string;
  readonly found: string;
}

/** The problem with a fact that lies after the moment at which it is taken in; none for one that does not. */
export type NotYet = (told: Told) => Problem[];

/** @param clock says when things are taken in. */
export function notYetBy(clock: Clock): NotYet {
  const { utc: now } = stamp(clock);
  const latest = Date.parse(now) + TOLERANCE_MS;
  const startOf = (time: string) => Date.parse(time.length === DAY_LENGTH ? `${time}T00:00:00${FIRST_ZONE}` : time);
  return (told) =>
    startOf(told.found) <= latest
      ? []
      : [
          {
            code: 'not-yet',
            ...told,
            expected: `a time that has passed: it is taken in at ${now}`,
            remedy: 'correct the date; if it is right, check the clock of this computer, or wait until it has happened',
          },
        ];
}

/** Facts of documents that lie after their recording. What is on record already was judged when it came. */
export async function timeProblems(
  documents: readonly ReadDocument[],
  known: Known,
  notYet: NotYet,
): Promise<Problem[]> {
  const problems: Problem[] = [];
  for (const { file, kind, body, lineOf } of documents) {
    const happened = timesThatHappened(kind.schema, body).map(({ path, time }): Required<Told> => {
      const field = fieldText(path);
      return { file, line: lineOf(field), field, found: time };
    });
    if (happened.every((told) => notYet(told).length === 0)) continue;
    const stored = await known.revisions(kind.kind, kind.key(body));
    const recorded = new Set(
      stored.flatMap((revision) => timesThatHappened(kind.schema, revision.body).map(({ time }) => time)),
    );
    problems.push(...happened.filter(({ found }) => !recorded.has(found)).flatMap(notYet));
  }
  return problems;
}
