import type { NextFunction, Request, Response } from 'express';
import { AppError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { SAFE_METHODS } from './request-checks.js';
import { WINDOW_MS } from './shared-rates.js';
import { uploadOf } from './upload.js';

/** How much one address may ask for in a minute, and how long a body may take. */
export interface Limits {
  readonly requestsPerMinute: number;
  readonly changesPerMinute: number;
  /** Each costs a password hash. */
  readonly signInsPerMinute: number;
  readonly bodyMs: number;
}

/** Far beyond what people and their programs need, far below what holds up the others. */
export const LIMITS: Limits = {
  requestsPerMinute: MOST.requestsPerMinute,
  changesPerMinute: MOST.changesPerMinute,
  signInsPerMinute: MOST.signInsPerMinute,
  bodyMs: MOST.bodyMs,
};

/** What comes of an upload at least while another body would have to be whole: a slow line sends a hundred times as much. */
const LEAST_BYTES = 16_384;

/**
 * Counts requests of each address in windows of a minute. All counts go when a window ends, so memory holds no more than
 * the addresses of one minute.
 * @param isSignIn whether a request is for a change that costs a password hash.
 * @param nowMs a clock that never goes back.
 * @param others what other instances counted in the same minute, if there are any.
 */
export function limitRate(
  limits: Limits,
  isSignIn: (method: string, path: string) => boolean,
  nowMs: () => number = () => performance.now(),
  others: (startMs: number, key: string, count: number, limit: number) => number = () => 0,
) {
  let counts = new Map<string, number>();
  let endsMs = 0;
  const isOver = (key: string, limit: number): boolean => {
    const count = (counts.get(key) ?? 0) + 1;
    counts.set(key, count);
    return count + others(endsMs - WINDOW_MS, key, count, limit) > limit;
  };
  return (request: Request, _response: Response, next: NextFunction): void => {
    const now = nowMs();
    if (now >= endsMs) {
      counts = new Map();
      // Instances count the same minutes.
      endsMs = (Math.floor(now / WINDOW_MS) + 1) * WINDOW_MS;
    }
    const address = request.ip ?? '';
    const isChange = !SAFE_METHODS.has(request.method);
    const over =
      isOver(address, limits.requestsPerMinute) ||
      (isChange && isOver(`change ${address}`, limits.changesPerMinute)) ||
      (isSignIn(request.method, request.path) && isOver(`sign-in ${address}`, limits.signInsPerMinute));
    if (!over) {
      next();
      return;
    }
    const waitS = Math.ceil((endsMs - now) / 1000);
    next(new AppError('TOO_MANY', `too many requests from ${address}; wait ${waitS} seconds`, { waitS }));
  };
}

/**
 * Hangs up on whoever takes too long to send what was announced: an open body costs a connection and memory. Files that
 * somebody may send take as long as they like, as long as enough of them comes in each stretch of that time. The time runs
 * on when an answer was given before the body had ended.
 */
export function refuseSlowBodies({ bodyMs }: Limits) {
  return (request: Request, response: Response, next: NextFunction): void => {
    if (request.complete || request.headers['content-length'] === '0' || hasNoBody(request)) {
      next();
      return;
    }
    const { socket } = request;
    let before = socket.bytesRead;
    const look = () => {
      if (request.complete) clearInterval(timer);
      else if (uploadOf(response) && socket.bytesRead - before >= LEAST_BYTES) before = socket.bytesRead;
      else socket.destroy();
    };
    const timer = setInterval(look, bodyMs);
    timer.unref();
    const stop = () => clearInterval(timer);
    request.once('end', stop);
    socket.once('close', stop);
    request.once('close', () => socket.off('close', stop));
    next();
  };
}

/**
 * Hangs up on whoever sends more than this. The body parser refuses a long body with words, but reads all of it first, so
 * that a body without end would never be refused. It must be called directly before the parser, which reads along.
 */
export function hangUpOnEndlessBody(request: Request, mostBytes: number): void {
  if (hasNoBody(request)) return;
  let received = 0;
  request.on('data', (chunk: Buffer) => {
    received += chunk.length;
    if (received > mostBytes) request.socket.destroy();
  });
}

const hasNoBody = ({ headers }: Request): boolean =>
  headers['content-length'] === undefined && headers['transfer-encoding'] === undefined;
