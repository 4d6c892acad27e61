import path from 'node:path';
import { BadInputError, type Problem } from '../base/errors.js';
import type { PlaceFinding, PlaceLog } from '../kinds/place-log.js';
import type { BuildReport } from '../process-logs/build-report.js';
import { placeRequest } from '../process-logs/plan-of-place.js';
import { scanLog } from '../process-logs/scan-file.js';
import type { NewRevision } from '../store/entries.js';
import type { Copies } from './copies.js';
import { joined } from './folder.js';
import { bodyIf, type Known } from './known.js';
import type { SiteDocument } from './read-folder.js';
import type { ReadDocument } from './yaml-document.js';

/** What was found in the logs of storage places that come in, by the document that names them. */
export type PlaceLogs = ReadonlyMap<ReadDocument, readonly NewRevision[]>;

/**
 * Scans the logs of storage places before anything is stored.
 * @param copies of the files; without them the logs are read where they lie, and nothing is kept.
 * @throws BadInputError when a log cannot be used, or is of another time than its document says.
 */
export async function scanPlaceLogs(
  site: readonly SiteDocument[],
  known: Known,
  copies: Copies | undefined,
  signal: AbortSignal | undefined,
): Promise<PlaceLogs> {
  const found = new Map<ReadDocument, NewRevision[]>();
  for (const { document, files } of site) {
    const place = bodyIf('storage-place', document);
    for (const [index, log] of (place?.logs ?? []).entries()) {
      const file = files.find(({ field }) => field === `logs[${index}].file`)!;
      const bytes = copies?.files.get(file.path)?.path ?? file.path;
      const { map } = log;
      // One that nobody knows was refused with the references.
      const readBy = map === undefined ? null : (await known.body('channel-map', map.map, map.revision))!;
      const request = placeRequest(place!, index, { ...log, path: bytes, readBy });
      const report = await scanLog(request, undefined, signal).catch((error: unknown) => {
        throw ofPlace(error, document, place!.place);
      });
      refuseOtherTimes(document, `logs[${index}]`, log, report);
      found.set(document, [...(found.get(document) ?? []), entryOf(place!.place, report)]);
    }
  }
  return found;
}

/** A log that cannot be used, told of the place that names it: the scanner knows lots. */
function ofPlace(error: unknown, document: ReadDocument, place: string): unknown {
  if (!(error instanceof BadInputError)) return error;
  const told = (text: string) => text.replaceAll('the lot file', `the document of place ${place}`);
  const folder = path.posix.dirname(document.file);
  return new BadInputError(
    error.problems.map(({ file, found, expected, remedy, ...problem }) => ({
      ...problem,
      file: file === undefined ? document.file : joined(folder, file),
      ...(found === undefined ? {} : { found: told(found) }),
      ...{ expected: told(expected), remedy: told(remedy) },
    })),
  );
}

function refuseOtherTimes(
  document: ReadDocument,
  field: string,
  { from, to }: { from: string; to: string },
  { files: [facts] }: BuildReport,
): void {
  const { firstAt, lastAt } = facts!;
  const isInside = Date.parse(firstAt!) >= Date.parse(from) && Date.parse(lastAt!) <= Date.parse(to);
  if (isInside) return;
  const problem: Problem = {
    code: 'place-log-of-another-time',
    file: document.file,
    line: document.lineOf(field),
    field,
    found: `rows from ${firstAt} to ${lastAt}`,
    expected: `rows from ${from} to ${to}`,
    remedy: 'correct from and to, or name the log of that time',
  };
  throw new BadInputError([problem]);
}

function entryOf(place: string, { files: [facts], part }: BuildReport): NewRevision {
  const { sha256, planSha256, scanner, rows, rejectedRows, firstAt, lastAt } = facts!;
  const body: PlaceLog = {
    ...{ place, evidence: sha256, planSha256, scanner, rows, rejectedRows },
    ...{ firstAt: firstAt!, lastAt: lastAt! },
    findings: part.findings.flatMap(
      ({ rule, level, channel, ucum, startedAt, endedAt, facts: told }): PlaceFinding[] =>
        // What is of no time, such as a line that could not be read, is counted with the rows.
        startedAt === null || endedAt === null
          ? []
          : [
              {
                ...{ rule, level, channel, ucum, startedAt, endedAt },
                ...(told.direction === undefined ? {} : { direction: told.direction }),
                ...(told.worst === undefined ? {} : { worst: told.worst }),
                ...(told.limit === undefined ? {} : { limit: told.limit }),
              },
            ],
    ),
  };
  const links = [{ name: 'log', to: { evidence: sha256 } }];
  return { kind: 'place-log', key: `${place}:${sha256}`, name: `log of ${place}`, body, links };
}
