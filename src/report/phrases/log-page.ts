import { ABSENT } from './absent.js';

/** Words around the log of a build: pictures, files, and scans on their way. */
export const LOG_PAGE = {
  wholeBuild: (build: string) => `The whole build ${build}`,
  channelOf: (channel: string, build: string) => `${channel} in build ${build}`,
  channelIn: (channel: string, build: string, by: 'time' | 'layer') => `${channel} in build ${build}, by ${by}`,
  noTime: ABSENT.none,
  rowsFile: (file: string) => `rows of ${file}`,
  observation: 'Observation',
  csv: 'CSV',
  stream: (map: string, revision: number) => `MTConnect stream, channel map ${map} revision ${revision}`,
  convertedUnit: (channel: string, logged: string, shown: string) => `${channel} ${logged}, as ${shown}`,
};

/** The state of a scan; one of a later version is shown as it is. */
export const SCAN_STATES: Readonly<Record<string, string>> = {
  waiting: 'waits for its turn',
  running: 'runs',
  done: 'done',
  failed: 'failed',
  cancelled: 'cancelled',
  interrupted: 'interrupted',
};
