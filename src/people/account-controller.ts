import { Body, Controller, Get, Header, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { Access, StoresNothing } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { FormField } from '../web/form-field.js';
import { type FormAnswer, FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readForm } from '../web/request-checks.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { IdentityCookie } from './identity-cookie.js';
import { checkRepeated, NewPassword, PASSWORD_HINT } from './sign-in-passwords.js';

const PasswordForm = z
  .strictObject({ old: z.string().min(1, 'your password as it is').max(1000, 'a password'), ...NewPassword })
  .superRefine(checkRepeated);

const FIELDS: readonly FormField[] = [
  { name: 'old', label: 'Password as it is', type: 'password', autocomplete: 'current-password', required: true },
  {
    name: 'password',
    label: 'New password',
    hint: PASSWORD_HINT,
    type: 'password',
    autocomplete: 'new-password',
    required: true,
  },
  {
    name: 'repeated',
    label: 'New password, once more',
    type: 'password',
    autocomplete: 'new-password',
    required: true,
  },
];
const LABELS = Object.fromEntries(FIELDS.map(({ name, label }) => [name, label]));

/** A person's own account. */
@Controller('account')
export class AccountController {
  constructor(
    private readonly pages: Pages,
    private readonly accounts: Accounts,
    private readonly cookie: IdentityCookie,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(): Promise<string> {
    return this.page([]);
  }

  /** Ends every session of the person, this one too. */
  @Access('signed in')
  @StoresNothing()
  @FormPost('password')
  async change(
    @Body() body: unknown,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ): Promise<FormAnswer> {
    try {
      const { old, password } = readForm(PasswordForm, body);
      await this.accounts.changePassword(await this.accounts.prove(this.actor.person, old), password);
      this.cookie.clear(request, response);
      return { to: '/sign-in' };
    } catch (error) {
      return { to: '/account', page: await this.page(formErrors(error, LABELS)) };
    }
  }

  private async page(errors: readonly FormError[]): Promise<string> {
    const { person, acting, endsAt } = this.actor.session;
    const { account } = (await this.accounts.state(person))!;
    return this.pages.render('account', errors.length > 0 ? 'Error: Your account' : 'Your account', {
      account,
      acting,
      passwordSetAt: account.passwordSetAt === null ? '' : timeText(account.passwordSetAt),
      endsAt: timeText(endsAt),
      fields: FIELDS,
      errors,
    });
  }
}
