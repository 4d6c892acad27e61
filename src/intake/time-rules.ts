import { type Clock, stamp } from '../base/clock.js';
import type { Problem } from '../base/errors.js';
import { liesAhead, timesThatHappened } from '../kinds/happened.js';
import type { Known } from './known.js';
import { fieldText, type ReadDocument } from './yaml-document.js';

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
  return (told) =>
    liesAhead(told.found, now)
      ? [
          {
            code: 'not-yet',
            ...told,
            expected: `a time that has passed: it is taken in at ${now}`,
            remedy: 'correct the date; if it is right, check the clock of this computer, or wait until it has happened',
          },
        ]
      : [];
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
