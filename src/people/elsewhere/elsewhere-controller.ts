import { Controller, Get, Header, Query, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { AppError } from '../../base/errors.js';
import { ELSEWHERE } from '../../report/phrases/elsewhere.js';
import { PAGE_TITLES } from '../../report/phrases/page-titles.js';
import { Store } from '../../store/store.js';
import { Access } from '../../web/access.js';
import { HTML } from '../../web/html.js';
import { Pages } from '../../web/pages.js';
import { cookieIn, IdentityCookie } from '../identity-cookie.js';
import { Sessions } from '../sessions.js';
import { SignInQuery } from '../sign-in-requests.js';
import { AWAY_MS, SignInElsewhere } from './sign-in-elsewhere.js';

const PLACE = '/sign-in/elsewhere';

/** Providers add what they like; what counts is checked by what was kept, and by their signature. */
const Answer = z.record(z.string().max(100), z.string().max(4000));

/** Signing in by a provider: there, and back. */
@Controller('sign-in/elsewhere')
export class ElsewhereController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly elsewhere: SignInElsewhere,
    private readonly sessions: Sessions,
    private readonly cookie: IdentityCookie,
  ) {}

  @Access('everyone')
  @Get()
  @Header(...HTML)
  async begin(
    @Query({ schema: SignInQuery }) { next }: SignInQuery,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ): Promise<string | undefined> {
    try {
      const { address, kept } = await this.elsewhere.begin(backTo(request), next);
      response.cookie(this.keptName(request), kept, { ...this.options(request), maxAge: AWAY_MS });
      response.redirect(303, address);
      return undefined;
    } catch (error) {
      return this.refused(error, response);
    }
  }

  /**
   * The browser comes from another site, so it would not bring a session of ours to where it is led now: the page that says that all is
   * well leads on.
   */
  @Access('everyone')
  @Get('back')
  @Header(...HTML)
  async back(
    @Query({ schema: Answer }) answer: Record<string, string>,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ): Promise<string> {
    const kept = cookieIn(request, this.keptName(request));
    response.clearCookie(this.keptName(request), this.options(request));
    try {
      const { who, next } = await this.elsewhere.finish(new URLSearchParams(answer), kept, backTo(request));
      const { token } = await this.sessions.begin(who, this.cookie.read(request));
      this.cookie.write(request, response, token);
      return this.pages.render('sign-in-elsewhere', PAGE_TITLES.signIn, { text: ELSEWHERE, next: next || '/' });
    } catch (error) {
      return this.refused(error, response);
    }
  }

  /** Whatever is wrong there, people sign in here. */
  private refused(error: unknown, response: Response): string {
    if (!(error instanceof AppError && error.code === 'REFUSED')) throw error;
    response.status(401);
    const view = { text: ELSEWHERE, next: null, why: error.message, name: this.elsewhere.name };
    return this.pages.render('sign-in-elsewhere', PAGE_TITLES.signIn, view);
  }

  private keptName({ secure }: Request): string {
    return `${secure ? '__Secure-' : ''}lotwright-${this.store.key.fingerprint.slice(0, 8)}-elsewhere`;
  }

  /** Sent along when the provider leads the browser back, and to no other address. */
  private options({ secure }: Request) {
    return { httpOnly: true, sameSite: 'lax', path: PLACE, secure } as const;
  }
}

const backTo = ({ protocol, headers }: Request): string => `${protocol}://${headers.host}${PLACE}/back`;
