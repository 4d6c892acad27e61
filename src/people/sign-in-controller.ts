import { Body, Controller, Get, Header, Query, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { AppError } from '../base/errors.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access, OpenToAuditors } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Pages, passkeyMarks } from '../web/pages.js';
import { Accounts } from './accounts.js';
import { providerOffered } from './elsewhere/provider.js';
import { HalfSignedIn } from './half-signed-in.js';
import { IdentityCookie } from './identity-cookie.js';
import { Proof } from './proof.js';
import { Sessions } from './sessions.js';
import { PasskeyForm, SignInForm, SignInQuery, TypedPasskey, TypedSignIn } from './sign-in-requests.js';

const LABELS = { person: FORM_LABELS.identifier, password: FORM_LABELS.password };

/** Signing in and out. */
@Controller()
export class SignInController {
  private readonly waiting = new HalfSignedIn();

  constructor(
    private readonly pages: Pages,
    private readonly accounts: Accounts,
    private readonly sessions: Sessions,
    private readonly cookie: IdentityCookie,
  ) {}

  @Access('everyone')
  @Get('sign-in')
  @Header(...HTML)
  form(@Query({ schema: SignInQuery }) { next }: SignInQuery): Promise<string> {
    return this.page({ next, person: '', errors: [] });
  }

  @Access('everyone')
  @PagePost('sign-in', {
    typed: TypedSignIn,
    show: (controller: SignInController, failed) => controller.again(failed),
  })
  async signIn(
    @Body(filledIn(SignInForm)) { person, password, next }: SignInForm,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ): Promise<FormAnswer | string> {
    const proof = await this.accounts.provePassword(person, password);
    const own = await this.accounts.passkeys.of(person);
    if (own.length === 0) return this.begin(proof, next, request, response);
    const ids = own.map(({ credential }) => credential);
    return { to: '/sign-in', page: this.passkeyPage(this.waiting.keep(proof), ids, next), status: 200 };
  }

  /** Whoever has shown the password shows the passkey too: in a step of its own, since nobody knew who would come. */
  @Access('everyone')
  @PagePost('sign-in/passkey', {
    typed: TypedPasskey,
    show: (controller: SignInController, { typed, error }) =>
      controller.again({ typed: { ...typed, person: '' }, params: {}, error }),
  })
  async passkey(
    @Body(filledIn(PasskeyForm)) { ticket, next }: PasskeyForm,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ): Promise<string> {
    const proof = this.waiting.take(ticket);
    try {
      await this.accounts.passkeys.demand(proof.person, ticket);
    } catch (error) {
      Proof.spend(proof);
      throw error;
    }
    return this.begin(proof, next, request, response);
  }

  private async begin(proof: Proof, next: string, request: Request, response: Response): Promise<string> {
    const { token } = await this.sessions.begin(proof, this.cookie.read(request));
    this.cookie.write(request, response, token);
    return next === '' ? '/' : next;
  }

  private passkeyPage(ticket: string, own: readonly string[], next: string): string {
    const passkey = passkeyMarks(ticket, own);
    return this.pages.render('sign-in-passkey', PAGE_TITLES.passkey, {
      ticket,
      next,
      passkey,
      ownScript: true,
      errors: [],
    });
  }

  @Access('signed in')
  @OpenToAuditors()
  @PagePost('sign-out')
  async signOut(@Req() request: Request, @Res({ passthrough: true }) response: Response): Promise<string> {
    const token = this.cookie.read(request);
    if (token !== undefined) await this.sessions.end(token);
    this.cookie.clear(request, response);
    return '/sign-in';
  }

  private async again({ typed, error }: FailedForm<{ person: string; next: string }>): Promise<FormAnswer> {
    const page = await this.page({ ...typed, errors: formErrors(error, LABELS) });
    return { to: '/sign-in', page, status: statusOf(error) };
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
    return this.pages.render('sign-in', PAGE_TITLES.signIn, {
      ...view,
      fields,
      nobodyYet,
      elsewhere: providerOffered()?.name,
    });
  }
}

/** 401 for a wrong password, 400 for a form that is not whole. */
const statusOf = (error: unknown): number => (error instanceof AppError && error.code === 'REFUSED' ? 401 : 400);
