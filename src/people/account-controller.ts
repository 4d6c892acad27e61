import { Body, Controller, Get, Header, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { currentOf } from '../ledger/person-keys.js';
import { vouchedText } from '../report/phrases/accounts.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access, OpenToAuditors } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { FormField } from '../web/form-field.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { AccountLinks } from './account-links.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { IdentityCookie } from './identity-cookie.js';
import { checkRepeated, KnownPassword, NewPassword, PASSWORD_HINT } from './password-fields.js';

const PasswordForm = z.strictObject({ old: KnownPassword, ...NewPassword }).superRefine(checkRepeated);
type PasswordForm = z.infer<typeof PasswordForm>;

const FIELDS: readonly FormField[] = [
  { name: 'old', label: FORM_LABELS.oldPassword, type: 'password', autocomplete: 'current-password', required: true },
  {
    name: 'password',
    label: FORM_LABELS.newPassword,
    hint: PASSWORD_HINT,
    type: 'password',
    autocomplete: 'new-password',
    required: true,
  },
  {
    name: 'repeated',
    label: FORM_LABELS.newPasswordAgain,
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
    private readonly store: Store,
    private readonly accounts: Accounts,
    private readonly passwords: AccountLinks,
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
  @OpenToAuditors()
  @FormPost('password', {
    typed: z.unknown(),
    show: async (controller: AccountController, { error }) => ({
      to: '/account',
      page: await controller.page(formErrors(error, LABELS)),
    }),
  })
  async change(
    @Body(filledIn(PasswordForm)) { old, password }: PasswordForm,
    @Req() request: Request,
    @Res({ passthrough: true }) response: Response,
  ): Promise<string> {
    await this.passwords.changePassword(await this.accounts.prove(this.actor.person, old), password);
    this.cookie.clear(request, response);
    return '/sign-in';
  }

  private async page(errors: readonly FormError[]): Promise<string> {
    const { person, acting, endsAt } = this.actor.session;
    const { account } = (await this.accounts.state(person))!;
    const own = currentOf((await this.store.read.events.knownKeys()).people.keys, person);
    return this.pages.render('account', PAGE_TITLES.account, {
      account,
      acting,
      key: own && { fingerprint: own.fingerprint, vouched: vouchedText(own) },
      passwordSetAt: account.passwordSetAt === null ? '' : timeText(account.passwordSetAt),
      endsAt: timeText(endsAt),
      fields: FIELDS,
      errors,
    });
  }
}
