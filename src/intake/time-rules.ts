import { type Clock, localDay, stamp } from '../base/clock.js';
import type { Problem } from '../base/errors.js';
import { timesThatHappened } from '../kinds/happened.js';
import { joined } from './folder.js';
import { documentsOf, type ReadFolder } from './read-folder.js';
import { fieldText } from './yaml-document.js';

/** How far the clocks of instruments and other machines may run ahead of ours. */
const TOLERANCE_MS = 5 * 60_000;

/** Facts of documents and results that lie after the moment at which they are recorded. */
export function timeProblems(part: Pick<ReadFolder, 'site' | 'lots'>, clock: Clock): Problem[] {
  const { utc: now, offset } = stamp(clock);
  const latest = Date.parse(now) + TOLERANCE_MS;
  const today = localDay({ utc: new Date(latest).toISOString(), offset });
  const liesAhead = (time: string): boolean =>
    time.length === today.length ? time > today : Date.parse(time) > latest;
  const expected = `a time that has passed: it is ${now} here`;
  const remedy = 'correct the time, or take it in once it has happened; see that the clock of this machine is right';
  const problem = (file: string, line: number, field: string, found: string): Problem => ({
    code: 'not-yet',
    file,
    line,
    field,
    found,
    expected,
    remedy,
  });
  const inDocuments = documentsOf(part).flatMap(({ file, kind, body, lineOf }) =>
    timesThatHappened(kind.schema, body)
      .filter(({ time }) => liesAhead(time))
      .map(({ path, time }) => problem(file, lineOf(fieldText(path)), fieldText(path), time)),
  );
  const inSheets = part.lots.flatMap(({ folder, sheets }) =>
    sheets.flatMap(({ file, rows }) =>
      rows
        .filter(({ measuredAt }) => liesAhead(measuredAt))
        .map(({ line, measuredAt }) => problem(joined(folder, file), line, 'measuredAt', measuredAt)),
    ),
  );
  return [...inDocuments, ...inSheets];
}
