import { type Logger, pino } from 'pino';

const NAME = 'lotwright';

/**
 * The log of the service: one JSON object a line, on standard error or in a file that its owner alone can read. Bodies,
 * headers, cookies and query texts are never handed to it.
 */
export function makeLog(file?: string): Logger {
  const destination =
    file === undefined ? { dest: 2, sync: true } : { dest: file, sync: true, mode: 0o600, append: true };
  return pino({ name: NAME, timestamp: pino.stdTimeFunctions.isoTime }, pino.destination(destination));
}

/** For tests and commands: only what should never happen. */
export const quietLog = (): Logger => {
  const log = makeLog();
  log.level = 'error';
  return log;
};

/** Long words in an address may be one-time links or hashes: the first letters are enough to follow a request. */
const LONGEST_WORD = 20;
const SHOWN = 6;

export const pathForLog = (path: string): string =>
  path
    .split('/')
    .map((word) => (word.length > LONGEST_WORD ? `${word.slice(0, SHOWN)}…` : word))
    .join('/');
