import { type LinkDraft, type NamedFile, tie } from './kind.js';
import type { Build, BuildLog, FurtherLog } from './lot.js';

/** One log file as the lot names it. */
export interface NamedLog {
  readonly log: BuildLog | FurtherLog;
  /** Its place in the build: `log`, `log.more[0]`. */
  readonly field: string;
}

/** The logs of a build in the order in which they count. */
export function logsOf({ log }: Pick<Build, 'log'>): NamedLog[] {
  if (log === undefined) return [];
  return [
    { log, field: 'log' },
    ...(log.more ?? []).map((more, index) => ({ log: more, field: `log.more[${index}]` })),
  ];
}

/** Files behind the logs: each log, and its sidecar with units. */
export function logFiles(builds: readonly Build[]): NamedFile[] {
  return builds.flatMap((build, index) =>
    logsOf(build).flatMap(({ log, field }): NamedFile[] => {
      const at = `builds[${index}].${field}`;
      const file: NamedFile = { path: log.file, field: `${at}.file`, name: 'log' };
      return log.units === undefined
        ? [file]
        : [file, { path: log.units, field: `${at}.units`, name: 'units of a log' }];
    }),
  );
}

/** A log that is a stream of an open standard rests on the map by which it is read. */
export function logMapLinks(builds: readonly Build[]): LinkDraft[] {
  return builds.flatMap((build, index) =>
    logsOf(build).flatMap(({ log: { map }, field }) =>
      map === undefined
        ? []
        : [tie('log read by', 'channel-map', map.map, `builds[${index}].${field}.map`, { revision: map.revision })],
    ),
  );
}
