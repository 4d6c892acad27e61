import type { NextFunction, Request, Response } from 'express';
import { AppError } from '../base/errors.js';
import type { Store } from '../store/store.js';
import { API_ROOT } from '../web/error-filter.js';
import type { Session } from '../web/identity.js';
import { runAs } from '../web/identity.js';
import { SAFE_METHODS } from '../web/request-checks.js';
import { personActor } from './account-state.js';
import type { IdentityCookie } from './identity-cookie.js';
import { carriesToken, type Sessions } from './sessions.js';

/** Where nobody needs to be signed in. Style and fonts are served before the gate. */
const OPEN_TO_ALL = [/^\/sign-in$/, /^\/set-up\/[^/]+$/, /^\/health$/, /^\/api\/v1\/session$/];

/** What an auditor may ask for although the request is no reading one: it stores nothing of the cell. */
const STORES_NOTHING = [
  /^\/sign-out$/,
  /^\/account\//,
  /^\/calculations\//,
  /^\/api\/v1\/calc\//,
  /^\/api\/v1\/session$/,
];

/** Forms carry the token in this field, programs in the header of this name. */
export const CSRF_FIELD = 'csrf';
export const CSRF_HEADER = 'x-csrf-token';

const matches = (patterns: readonly RegExp[], path: string): boolean => patterns.some((one) => one.test(path));

/** Lets in whoever is signed in, and lets change only what comes from one of their own forms. */
export class IdentityGate {
  constructor(
    private readonly store: Store,
    private readonly sessions: Sessions,
    private readonly cookie: IdentityCookie,
  ) {}

  /** Before a body is read: strangers get nothing read but a sign-in. */
  readonly admit = async (request: Request, response: Response, next: NextFunction): Promise<void> => {
    // What somebody saw must not be shown again from the browser's memory after they signed out.
    response.setHeader('Cache-Control', 'no-store');
    const token = this.cookie.read(request);
    const session = token === undefined ? undefined : await this.sessions.find(token);
    response.locals.session = session;
    if (session || matches(OPEN_TO_ALL, request.path)) return runAs(session, next);
    if (request.path.startsWith(`${API_ROOT}/`) || !SAFE_METHODS.has(request.method)) {
      throw new AppError('NOT_SIGNED_IN', 'nobody is signed in, or the session has ended; nothing was done');
    }
    const wanted = request.originalUrl === '/' ? '' : `?next=${encodeURIComponent(request.originalUrl)}`;
    response.redirect(303, `/sign-in${wanted}`);
  };

  /** Once the body is read: a change must carry the token of the session, and an auditor changes nothing. */
  readonly check = async (request: Request, response: Response, next: NextFunction): Promise<void> => {
    const session = sessionOf(response);
    const token = sentToken(request);
    if (session && !SAFE_METHODS.has(request.method) && !isSignIn(request)) {
      if (!carriesToken(session, token)) {
        throw new AppError(
          'REFUSED',
          `this change does not carry the token of your session (field ${CSRF_FIELD}, header ${CSRF_HEADER}); nothing was done. Open the page again and repeat it`,
        );
      }
      await this.checkAuditor(session, request);
    }
    // Reading the body may have left the context that `admit` began.
    runAs(session, next);
  };

  private async checkAuditor({ person, acting }: Session, { method, path }: Request): Promise<void> {
    if (!acting.some(({ role }) => role === 'auditor') || matches(STORES_NOTHING, path)) return;
    const why = 'an auditor reads everything and changes nothing';
    await this.store.change(personActor(person), (writer) =>
      writer.recordEvent({
        type: 'act-refused',
        act: `${method} ${path}`,
        subject: { kind: 'account', key: person },
        lot: null,
        person,
        why,
      }),
    );
    throw new AppError('REFUSED', why);
  }
}

const sessionOf = (response: Response): Session | undefined => response.locals.session as Session | undefined;

/** Who signs in has no token yet, or is about to leave the session that it belongs to. */
const isSignIn = ({ method, path }: Request): boolean =>
  method === 'POST' && (path === '/sign-in' || path === '/api/v1/session' || path.startsWith('/set-up/'));

/** Takes the token out of a form, whose schema knows its own fields only. */
function sentToken(request: Request): unknown {
  const header = request.get(CSRF_HEADER);
  const body = request.body as Record<string, unknown> | undefined;
  if (typeof body !== 'object' || body === null || !Object.hasOwn(body, CSRF_FIELD)) return header;
  const { [CSRF_FIELD]: sent, ...fields } = body;
  request.body = fields;
  return header ?? sent;
}
