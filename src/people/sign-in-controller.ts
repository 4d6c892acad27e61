import { Body, Controller, Get, Header, Post, Query, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { Access, StoresNothing } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readForm, readRequest } from '../web/request-checks.js';
import { Accounts } from './accounts.js';
import { IdentityCookie } from './identity-cookie.js';
import { Sessions } from './sessions.js';

/** Own address to go on to. Anything else, another site above all, leads to the first page. */
const Next = z
  .string()
  .max(2000)
  .transform((text) => (/^\/(?![/\\])[^\\\p{Cc}]*$/u.test(text) ? text : ''))
  .default('');

const SignInQuery = z.strictObject({ next: Next });

const SignInForm = z.strictObject({
  person: z.string().trim().min(1, 'your identifier').max(60, 'an identifier of at most 60 characters'),
  password: z.string().min(1, 'your password').max(1000, 'a password of at most 128 characters'),
  next: Next,
});

const LABELS = { person: 'Identifier', password: 'Password' };

/** Signing in and out. */
@Controller()
export class SignInController {
  constructor(
    private readonly pages: Pages,
    private readonly accounts: Accounts,
    private readonly sessions: Sessions,
    private readonly cookie: IdentityCookie,
  ) {}

  @Access('everyone')
  @Get('sign-in')
  @Header(...HTML)
  async form(@Query() query: unknown): Promise<string> {
    return this.page({ ...readRequest(SignInQuery, query), person: '', errors: [] });
  }

  @Access('everyone')
  @Post('sign-in')
  async signIn(@Body() body: unknown, @Req() request: Request, @Res() response: Response): Promise<void> {
    try {
      const { person, password, next } = readForm(SignInForm, body);
      const proof = await this.accounts.prove(person, password);
      const { token } = await this.sessions.begin(proof, this.cookie.read(request));
      this.cookie.write(request, response, token);
      response.redirect(303, next === '' ? '/' : next);
    } catch (error) {
      const errors = formErrors(error, LABELS);
      const { person, next } = typed(body);
      response.status(statusOf(error)).type('html');
      if (error instanceof AppError && typeof error.facts.waitS === 'number') {
        response.setHeader('Retry-After', String(error.facts.waitS));
      }
      response.send(await this.page({ person, next, errors }));
    }
  }

  @Access('signed in')
  @StoresNothing()
  @Post('sign-out')
  async signOut(@Req() request: Request, @Res() response: Response): Promise<void> {
    const token = this.cookie.read(request);
    if (token !== undefined) await this.sessions.end(token);
    this.cookie.clear(request, response);
    response.redirect(303, '/sign-in');
  }

  private async page(view: { next: string; person: string; errors: readonly FormError[] }): Promise<string> {
    const fields = [
      {
        name: 'person',
        label: LABELS.person,
        type: 'text',
        value: view.person,
        autocomplete: 'username',
        required: true,
      },
      { name: 'password', label: LABELS.password, type: 'password', autocomplete: 'current-password', required: true },
    ];
    const nobodyYet = (await this.accounts.people()).size === 0;
    return this.pages.render('sign-in', `${view.errors.length > 0 ? 'Error: ' : ''}Sign in`, {
      ...view,
      fields,
      nobodyYet,
    });
  }
}

/** What goes back into the form. A password never does. */
function typed(body: unknown): { person: string; next: string } {
  const Typed = z.object({ person: z.string().max(60).catch(''), next: Next.catch('') });
  return Typed.catch({ person: '', next: '' }).parse(body);
}

/** 429 while attempts are held back, 401 for a wrong password, 400 for a form that is not whole. */
function statusOf(error: unknown): number {
  if (!(error instanceof AppError) || error.code !== 'REFUSED') return 400;
  return 'waitS' in error.facts || 'failures' in error.facts ? 429 : 401;
}
