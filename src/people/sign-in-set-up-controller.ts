import { Body, Controller, Get, Header, Param, Res } from '@nestjs/common';
import type { Response } from 'express';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { Code, Text } from '../kinds/fields.js';
import { Access } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { type FormAnswer, FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readForm } from '../web/request-checks.js';
import type { Account } from './account-state.js';
import { Accounts } from './accounts.js';
import { checkRepeated, NewPassword, PASSWORD_HINT } from './sign-in-passwords.js';

const SetUpForm = z.strictObject(NewPassword).superRefine(checkRepeated);
const FirstForm = z
  .strictObject({ person: Code, name: Text.max(200, 'at most 200 characters'), ...NewPassword })
  .superRefine(checkRepeated);

const LABELS = {
  person: 'Identifier',
  name: 'Name',
  password: 'Password',
  repeated: 'Password, once more',
};

/** The page behind a one-time link: a person chooses the password that nobody else knows. */
@Controller('set-up')
export class SetUpController {
  constructor(
    private readonly pages: Pages,
    private readonly accounts: Accounts,
  ) {}

  @Access('everyone')
  @Get('done')
  @Header(...HTML)
  done(): string {
    return this.pages.render('set-up', 'Your password is set', { errors: [], done: true });
  }

  @Access('everyone')
  @Get(':token')
  @Header(...HTML)
  async show(@Param('token') token: string, @Res({ passthrough: true }) response: Response): Promise<string> {
    try {
      const link = await this.accounts.openLink(token);
      return this.form(token, link.first ? undefined : link.account, { errors: [], typed: {} });
    } catch (error) {
      response.status(403);
      return this.deadPage(error);
    }
  }

  @Access('everyone')
  @FormPost(':token')
  async set(@Param('token') token: string, @Body() body: unknown): Promise<FormAnswer> {
    const to = `/set-up/${encodeURIComponent(token)}`;
    let account: Account | undefined;
    try {
      const link = await this.accounts.openLink(token);
      account = link.first ? undefined : link.account;
    } catch (error) {
      return { to, page: this.deadPage(error), status: 403 };
    }
    try {
      if (account) await this.accounts.setPassword(token, readForm(SetUpForm, body).password);
      else await this.accounts.makeFirst(token, readForm(FirstForm, body));
      return { to: '/set-up/done' };
    } catch (error) {
      return { to, page: this.form(token, account, { errors: formErrors(error, LABELS), typed: typedTexts(body) }) };
    }
  }

  private deadPage(error: unknown): string {
    if (!(error instanceof AppError) || error.code !== 'REFUSED') throw error;
    const why = `${error.message.charAt(0).toUpperCase()}${error.message.slice(1)}.`;
    return this.pages.render('set-up', 'This link does not work', { errors: [], why });
  }

  private form(
    token: string,
    account: Account | undefined,
    { errors, typed }: { errors: readonly FormError[]; typed: { person?: string; name?: string } },
  ): string {
    const who = [
      {
        name: 'person',
        label: LABELS.person,
        hint: 'A short code that nobody else ever gets, such as initials. Letters, digits, dot, dash, underscore.',
        type: 'text',
        value: typed.person ?? '',
        autocomplete: 'username',
        required: true,
      },
      {
        name: 'name',
        label: LABELS.name,
        hint: 'As it is printed.',
        type: 'text',
        value: typed.name ?? '',
        autocomplete: 'name',
        required: true,
      },
    ];
    const passwords = [
      {
        name: 'password',
        label: LABELS.password,
        hint: PASSWORD_HINT,
        type: 'password',
        autocomplete: 'new-password',
        required: true,
      },
      { name: 'repeated', label: LABELS.repeated, type: 'password', autocomplete: 'new-password', required: true },
    ];
    const title = account ? 'Choose your password' : 'Make the first administrator';
    const fields = account ? passwords : [...who, ...passwords];
    return this.pages.render('set-up', errors.length > 0 ? `Error: ${title}` : title, {
      token,
      account,
      errors,
      fields,
    });
  }
}

/** What goes back into the form. A password never does. */
function typedTexts(body: unknown): { person: string; name: string } {
  const Typed = z.object({ person: z.string().max(400).catch(''), name: z.string().max(400).catch('') });
  return Typed.catch({ person: '', name: '' }).parse(body);
}
