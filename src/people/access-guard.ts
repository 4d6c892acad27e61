import { type CanActivate, type ExecutionContext, Injectable } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { Request, Response } from 'express';
import { AppError } from '../base/errors.js';
import { denialText } from '../report/phrases/authority.js';
import { INTAKE_TOKENS } from '../report/phrases/intake-tokens.js';
import { Store } from '../store/store.js';
import { Access, KeepsDraft, OpenToAuditors, TakesTokens } from '../web/access.js';
import { bring, identify, type Session } from '../web/identity.js';
import { SentPasskeys } from '../web/passkey-ask.js';
import { readBody } from '../web/request-body.js';
import { SAFE_METHODS } from '../web/request-checks.js';
import { TakesFiles, Upload } from '../web/upload.js';
import { personActor } from './account-state.js';
import { mayKeepAccounts } from './accounts.js';
import { Drafts } from './drafts.js';
import { IdentityCookie } from './identity-cookie.js';
import { IntakeTokens } from './intake-tokens.js';
import { refuseAct } from './refuse-act.js';
import { carriesToken, Sessions } from './sessions.js';

/** Forms carry the token in this field, programs in the header of this name. */
const CSRF_FIELD = 'csrf';
const CSRF_HEADER = 'x-csrf-token';

/**
 * Stands before every route. It lets in whom the route says, and lets change only what comes from one of their own
 * forms. Nothing is read of the body of a stranger, but where everyone may ask: to sign in, or to set a password.
 */
@Injectable()
export class AccessGuard implements CanActivate {
  constructor(
    private readonly reflector: Reflector,
    private readonly store: Store,
    private readonly sessions: Sessions,
    private readonly cookie: IdentityCookie,
    private readonly drafts: Drafts,
    private readonly tokens: IntakeTokens,
  ) {}

  async canActivate(context: ExecutionContext): Promise<boolean> {
    const request = context.switchToHttp().getRequest<Request>();
    const response = context.switchToHttp().getResponse<Response>();
    const handler = context.getHandler();
    const token = tokenIn(request, this.reflector.get(TakesTokens, handler) === true);
    const session = token === undefined ? await this.sessionOf(request) : await this.tokens.find(token);
    identify(session);
    response.locals.session = session;
    const asker = this.reflector.get(Access, handler);
    if (asker === undefined) throw new AppError('REFUSED', 'this address does not say who may ask it, so nobody may');
    const reads = SAFE_METHODS.has(request.method);
    if (asker === 'everyone') {
      if (!reads) await readBody(request, response);
      // Whoever signs in has no token yet, or is about to leave the session that it belongs to.
      takeToken(request);
      bring(SentPasskeys.takeFrom(request));
      return true;
    }
    if (!session && !reads) await this.keepDraft(request, response, handler);
    if (!session)
      throw new AppError('NOT_SIGNED_IN', 'nobody is signed in, or the session has ended; nothing was done');
    if (asker === 'administrator') checkMayKeep(session);
    if (reads) return true;
    await this.readBody(request, response, handler);
    // No page of another site can send the token of a program, so nothing else shows that it is no such page.
    if (token === undefined && !carriesToken(session, takeToken(request))) throw foreign();
    bring(SentPasskeys.takeFrom(request));
    if (!this.reflector.get(OpenToAuditors, handler)) await this.checkAuditor(session, request);
    return true;
  }

  /** Of a body with files the fields alone: the files are read by the handler, once their sender is let in. */
  private async readBody(
    request: Request,
    response: Response,
    handler: ReturnType<ExecutionContext['getHandler']>,
  ): Promise<void> {
    const files = this.reflector.get(TakesFiles, handler);
    if (files === undefined || !request.is('multipart/form-data')) {
      await readBody(request, response);
      return;
    }
    const upload = await Upload.begin(request, response, files);
    request.body = upload.fields;
  }

  /** What a person typed whose session has ended. Only for a form that we showed is anything read of the body. */
  private async keepDraft(
    request: Request,
    response: Response,
    handler: ReturnType<ExecutionContext['getHandler']>,
  ): Promise<void> {
    const { draft } = request.params;
    if (!this.reflector.get(KeepsDraft, handler) || typeof draft !== 'string') return;
    if (!this.drafts.meant(draft)) return;
    await this.readBody(request, response, handler);
    takeToken(request);
    await this.drafts.keep(draft, request.body as Record<string, string>);
    throw new AppError(
      'NOT_SIGNED_IN',
      'the session has ended; what you typed is kept and comes back after you sign in',
      {
        // A form is sent to the address at which it is shown.
        next: request.path,
      },
    );
  }

  private async sessionOf(request: Request): Promise<Session | undefined> {
    const token = this.cookie.read(request);
    return token === undefined ? undefined : this.sessions.find(token);
  }

  private async checkAuditor({ person, acting }: Session, { method, path }: Request): Promise<void> {
    if (!acting.some(({ role }) => role === 'auditor')) return;
    const tried = { actor: personActor(person), person, act: `${method} ${path}` };
    await refuseAct(this.store, { ...tried, why: denialText({ code: 'auditor' }) });
  }
}

/** @throws AppError REFUSED for a token where none counts, BAD_INPUT for what is none. */
function tokenIn(request: Request, isTaken: boolean): string | undefined {
  const given = request.get('authorization');
  // Others may mean a proxy of the house.
  if (given === undefined || !/^Bearer\b/i.test(given)) return undefined;
  if (!isTaken) throw new AppError('REFUSED', INTAKE_TOKENS.notHere);
  const [, token] = /^Bearer ([\w-]{86})$/i.exec(given) ?? [];
  if (token === undefined) throw new AppError('BAD_INPUT', INTAKE_TOKENS.badHeader);
  return token;
}

/** Showing the form of an act is no act yet, so nothing is recorded when it is not shown. */
function checkMayKeep({ person, acting }: Session): void {
  const authority = mayKeepAccounts(person, acting);
  if (!authority.may) throw new AppError('REFUSED', denialText(authority.why));
}

const foreign = () =>
  new AppError(
    'REFUSED',
    `this change does not carry the token of your session (field ${CSRF_FIELD}, header ${CSRF_HEADER}); nothing was done. Open the page again and repeat it`,
  );

/** Takes the token out of a form, whose schema knows its own fields only. */
function takeToken(request: Request): unknown {
  const header = request.get(CSRF_HEADER);
  const body = request.body as Record<string, unknown> | undefined;
  if (typeof body !== 'object' || body === null || !Object.hasOwn(body, CSRF_FIELD)) return header;
  const { [CSRF_FIELD]: sent, ...fields } = body;
  request.body = fields;
  return header ?? sent;
}
