import type { Request } from 'express';
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

/**
 * Where a request went, as its route is written: `/lots/:lot`. Names of lots, cases and people, one-time links and hashes
 * stand where the route has a name, and so does whatever a stranger asks for that is no route.
 */
export const routeForLog = ({ route, path }: Pick<Request, 'route' | 'path'>): string => {
  const written = (route as { readonly path?: unknown } | undefined)?.path;
  if (typeof written === 'string') return written;
  return path.startsWith('/assets/') ? '/assets/…' : 'refused before its route was looked for';
};

/** What an error says of the program: its kind and where it arose. Its message may name what a case is about. */
export function faultForLog(error: unknown): { type: string; code?: string; frames: readonly string[] } {
  const { name, stack = '', code } = error as Partial<NodeJS.ErrnoException>;
  const frames = stack.split('\n').flatMap((line) => /^\s+at (.*)$/.exec(line)?.[1] ?? []);
  return { type: name ?? typeof error, ...(code === undefined ? {} : { code }), frames };
}
