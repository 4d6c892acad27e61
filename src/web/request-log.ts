import { randomUUID } from 'node:crypto';
import type { NextFunction, Request, Response } from 'express';
import type { Logger } from 'pino';
import { routeForLog } from './log.js';

const HEADER = 'X-Request-Id';

/**
 * Gives every request an identifier, which the answer carries, and writes one line when it is over. It is no interceptor,
 * because these never see what the guard refuses, what is no route, or what is hung up on: the log has all of it.
 */
export function logRequests(log: Logger) {
  return (request: Request, response: Response, next: NextFunction): void => {
    const id = randomUUID();
    const begun = performance.now();
    const { method } = request;
    response.setHeader(HEADER, id);
    response.locals.log = log.child({ request: id });
    response.on('close', () => {
      const { person } = (response.locals.session ?? {}) as { person?: string };
      log.info({
        request: id,
        method,
        path: routeForLog(request),
        status: response.statusCode,
        ms: Math.round(performance.now() - begun),
        address: request.ip,
        ...(person === undefined ? {} : { person }),
        ...(response.writableFinished ? {} : { cut: true }),
      });
    });
    next();
  };
}

/** The log with the identifier of this request. */
export const logOf = (response: Response): Logger | undefined => response.locals.log as Logger | undefined;
