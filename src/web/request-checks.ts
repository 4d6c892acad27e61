import type { NextFunction, Request, Response } from 'express';
import { AppError } from '../base/errors.js';

/** Names under which a service may always be called: by this machine itself. */
const OWN_NAMES: ReadonlySet<string> = new Set(['127.0.0.1', 'localhost', '[::1]']);
/** Methods that change nothing. */
export const SAFE_METHODS: ReadonlySet<string> = new Set(['GET', 'HEAD', 'OPTIONS']);

/**
 * Refuses a request that was addressed to another name: a foreign site that lets its name point to this machine would
 * otherwise read the pages through the browser of whoever visits it.
 * @param speaksFor whether the certificate of the service bears a name; without one only this machine's own names count.
 */
export function refuseOtherNames(speaksFor: (name: string) => boolean = () => false) {
  return (request: Request, _response: Response, next: NextFunction): void => {
    const name = (request.headers.host ?? '').replace(/:\d+$/, '');
    if (OWN_NAMES.has(name) || speaksFor(name)) next();
    else next(new AppError('REFUSED', `this service does not answer to the name "${name}"`));
  };
}

/**
 * Refuses a change that a page of another site asks for. Browsers say where a request comes from; a program that is no
 * browser sends neither header and is let through.
 */
export function refuseForeignChanges(request: Request, _response: Response, next: NextFunction): void {
  if (SAFE_METHODS.has(request.method) || isOwn(request)) next();
  else next(new AppError('REFUSED', 'this change was asked for by a page of another site; nothing was done'));
}

function isOwn({ headers, protocol }: Request): boolean {
  const site = headers['sec-fetch-site'];
  if (site !== undefined) return site === 'same-origin' || site === 'none';
  return headers.origin === undefined || headers.origin === `${protocol}://${headers.host}`;
}
