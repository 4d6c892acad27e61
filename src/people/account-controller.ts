import { Body, Controller, Get, Header, Param, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { Text } from '../kinds/fields.js';
import { currentOf } from '../ledger/person-keys.js';
import { vouchedText } from '../report/phrases/accounts.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PASSKEY_WORDS } from '../report/phrases/passkeys.js';
import { Store } from '../store/store.js';
import { Access, NoCases, OpenToAuditors } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { FormField } from '../web/form-field.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { currentRequest } from '../web/identity.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages, passkeyMarks } from '../web/pages.js';
import { AccountLinks } from './account-links.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { IdentityCookie } from './identity-cookie.js';
import { isName } from './passkeys/passkeys.js';
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

const NewPasskeyForm = z.strictObject({ label: Text.max(60, 'at most 60 characters'), ownPassword: KnownPassword });
type NewPasskeyForm = z.infer<typeof NewPasskeyForm>;

const EndPasskeyForm = z.strictObject({ ownPassword: KnownPassword });
type EndPasskeyForm = z.infer<typeof EndPasskeyForm>;

const OWN_PASSWORD: FormField = {
  name: 'ownPassword',
  label: FORM_LABELS.ownPassword,
  type: 'password',
  autocomplete: 'current-password',
  required: true,
};
const PASSKEY_FIELDS: readonly FormField[] = [
  { name: 'label', label: PASSKEY_WORDS.label, hint: PASSKEY_WORDS.labelHint, type: 'text', required: true },
  { ...OWN_PASSWORD, hint: PASSKEY_WORDS.passwordHint },
];
const PASSKEY_LABELS = { ...LABELS, label: PASSKEY_WORDS.label, ownPassword: FORM_LABELS.ownPassword };

/** How the page is shown again where a passkey was neither made nor taken away. */
const passkeyAgain = {
  typed: z.unknown(),
  show: async (controller: AccountController, { error }: { error: unknown }) => ({
    to: '/account',
    page: await controller.page(formErrors(error, PASSKEY_LABELS)),
  }),
};

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
  @NoCases()
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

  /** Beside the password from now on, wherever it is asked for. */
  @Access('signed in')
  @FormPost('passkeys', passkeyAgain)
  async makePasskey(@Body(filledIn(NewPasskeyForm)) { label, ownPassword }: NewPasskeyForm): Promise<string> {
    await this.accounts.passkeys.make(await this.accounts.prove(this.actor.person, ownPassword), label);
    return '/account#passkeys';
  }

  @Access('signed in')
  @FormPost('passkeys/:credential/end', passkeyAgain)
  async endPasskey(
    @Param('credential', NAMED) credential: string,
    @Body(filledIn(EndPasskeyForm)) { ownPassword }: EndPasskeyForm,
  ): Promise<string> {
    await this.accounts.passkeys.end(await this.accounts.prove(this.actor.person, ownPassword), credential);
    return '/account#passkeys';
  }

  /** What the page says of passkeys, and what the form of a new one carries. */
  private async passkeyView() {
    const { person, name, id, passkeys } = this.actor.session;
    const { host } = currentRequest()!;
    const events = await this.store.read.events.of({ kind: 'account', key: person });
    const own = await this.accounts.passkeys.of(person);
    return {
      own: own.map((passkey) => ({
        ...passkey,
        madeAt: timeText(
          events.find(({ event }) => event.type === 'passkey-made' && event.credential === passkey.credential)!.at,
        ),
      })),
      whyNot: isName(host) ? undefined : PASSKEY_WORDS.noName(host),
      fields: PASSKEY_FIELDS,
      endField: OWN_PASSWORD,
      account: this.accounts.passkeys.accountOf(person).toString('base64url'),
      name,
      // A person without any has no script on other pages, and no number in their forms.
      marks: () => passkeyMarks(id, passkeys),
    };
  }

  /** It is called by the routes above too. */
  async page(errors: readonly FormError[]): Promise<string> {
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
      passkeys: await this.passkeyView(),
      ownScript: true,
      errors,
    });
  }
}
