import { z } from 'zod';
import { AppError } from '../../base/errors.js';

/** States of the standard: the connection was lost, and so was the word whether the transaction was stored. */
export const CONNECTION_LOST = '08006';
export const OUTCOME_UNKNOWN = '08007';

/** The server has no connection left, or is about to start. */
const FULL: ReadonlySet<string> = new Set(['53300', '57P03']);
/** Another transaction holds a row, or came first. */
const HELD: ReadonlySet<string> = new Set(['40001', '40P01', '55P03']);
const AWAY = /^(?:ECONN|EPIPE|ENOTFOUND|EHOSTUNREACH|ETIMEDOUT|EAI_|CONNECT_|CONNECTION_|08006|57P01|57P02)/;
const NOT_ALLOWED = '42501';
const REFUSED = /^(?:28|3D000)/;

const Cause = z.object({ cause: z.object({ originalCode: z.string() }) });
/** As the database client tells it, and as it comes where that was not asked. */
const DriverFailure = z.union([z.object({ meta: z.object({ driverAdapterError: Cause }) }), Cause]);

/** Of the server, or of the way to it. */
function codeOf(error: unknown): string {
  const failure = DriverFailure.safeParse(error);
  if (!failure.success) return (error as { code?: string }).code ?? '';
  return ('meta' in failure.data ? failure.data.meta.driverAdapterError : failure.data).cause.originalCode;
}

/** Whether the same may go well a moment later, since others keep the server busy. */
export function isBusy(error: unknown): boolean {
  const code = codeOf(error);
  return FULL.has(code) || HELD.has(code);
}

/** Whether the server, or the way to it, went away. */
export const isAway = (error: unknown): boolean => AWAY.test(codeOf(error));

/** A server that is not there, or does not let in, is told in words; every other error is as it was. */
export function asReached(error: unknown): unknown {
  const code = codeOf(error);
  const message = (error as Error).message.trim().split('\n').at(-1);
  if (code === OUTCOME_UNKNOWN) {
    return new AppError(
      'BUSY',
      'the database server was lost while it stored the change: look whether it is there before you repeat it',
    );
  }
  if (FULL.has(code)) {
    return new AppError(
      'BUSY',
      `the database server takes no further connection now (${message}); nothing was stored: try again in a moment`,
    );
  }
  if (isAway(error)) {
    return new AppError(
      'BUSY',
      `the database server does not answer (${message}); nothing was stored: look at the server, and try again`,
    );
  }
  if (code === NOT_ALLOWED) {
    return new AppError(
      'CONFLICT',
      `the role of the program may not do this (${message}); nothing was stored: LOTWRIGHT_STORE names a role that only reads, or its rights were changed`,
    );
  }
  if (!REFUSED.test(code)) return error;
  return new AppError(
    'CONFLICT',
    `the database server does not let the program in (${message}): look at LOTWRIGHT_STORE and at the server`,
  );
}
