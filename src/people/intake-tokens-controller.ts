import { Body, Controller, Get, Header, Param } from '@nestjs/common';
import { z } from 'zod';
import { systemClock } from '../base/clock.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { INTAKE_TOKENS } from '../report/phrases/intake-tokens.js';
import { Access, NoCases } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { FormField } from '../web/form-field.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { IntakeTokens, LONGEST_TOKEN_DAYS } from './intake-tokens.js';
import { KnownPassword } from './password-fields.js';
import { UnseenLinks } from './unseen-links.js';

const PAGE = '/account/tokens';

const NewTokenForm = z.strictObject({
  name: z.string().regex(/^[A-Za-z0-9][\w.-]{0,39}$/, INTAKE_TOKENS.nameHint),
  days: z
    .string()
    .regex(/^[1-9]\d{0,2}$/, INTAKE_TOKENS.daysHint(LONGEST_TOKEN_DAYS))
    .transform(Number)
    .refine((days) => days <= LONGEST_TOKEN_DAYS, INTAKE_TOKENS.daysHint(LONGEST_TOKEN_DAYS)),
  ownPassword: KnownPassword,
});
type NewTokenForm = z.infer<typeof NewTokenForm>;

const EndTokenForm = z.strictObject({ ownPassword: KnownPassword });
type EndTokenForm = z.infer<typeof EndTokenForm>;

const OWN_PASSWORD: FormField = {
  name: 'ownPassword',
  label: FORM_LABELS.ownPassword,
  hint: FORM_LABELS.ownPasswordHint,
  type: 'password',
  autocomplete: 'current-password',
  required: true,
};
const FIELDS: readonly FormField[] = [
  { name: 'name', label: INTAKE_TOKENS.name, hint: INTAKE_TOKENS.nameHint, type: 'text', required: true },
  {
    name: 'days',
    label: INTAKE_TOKENS.days,
    hint: INTAKE_TOKENS.daysHint(LONGEST_TOKEN_DAYS),
    type: 'text',
    required: true,
  },
  OWN_PASSWORD,
];
const LABELS = Object.fromEntries(FIELDS.map(({ name, label }) => [name, label]));

/** What was typed, but for the password. */
const Typed = z.object({ name: z.string().catch(''), days: z.string().catch('') }).catch({ name: '', days: '' });
type Typed = z.infer<typeof Typed>;
const NOTHING: Typed = { name: '', days: '' };

const again = {
  typed: Typed,
  show: async (controller: IntakeTokensController, { typed, error }: { typed: Typed; error: unknown }) => ({
    to: PAGE,
    page: await controller.page(typed, formErrors(error, LABELS)),
  }),
};

/** Tokens of a person's own programs. */
@Controller('account/tokens')
export class IntakeTokensController {
  private readonly unseen = new UnseenLinks();

  constructor(
    private readonly pages: Pages,
    private readonly tokens: IntakeTokens,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @NoCases()
  @Get()
  @Header(...HTML)
  show(): Promise<string> {
    return this.page(NOTHING, []);
  }

  @Access('signed in')
  @FormPost('', again)
  async make(@Body(filledIn(NewTokenForm)) { name, days, ownPassword }: NewTokenForm): Promise<string> {
    const made = await this.tokens.make(await this.accounts.prove(this.actor.person, ownPassword), name, days);
    this.unseen.keep(this.actor.session.id, name, made, systemClock.now());
    return `${PAGE}/${encodeURIComponent(name)}`;
  }

  /** It is shown once, to whoever made it. */
  @Access('signed in')
  @NoCases()
  @Get(':name')
  @Header(...HTML)
  showOnce(@Param('name', NAMED) name: string): string {
    const made = this.unseen.take(this.actor.session.id, name, systemClock.now());
    return this.pages.render('account-token', INTAKE_TOKENS.shownTitle(name), {
      name,
      token: made?.token ?? null,
      expiresAt: made && INTAKE_TOKENS.runsOut(made.expiresAt),
      text: INTAKE_TOKENS,
    });
  }

  @Access('signed in')
  @FormPost(':token/end', again)
  async end(
    @Param('token', NAMED) tokenSha256: string,
    @Body(filledIn(EndTokenForm)) { ownPassword }: EndTokenForm,
  ): Promise<string> {
    await this.tokens.end(await this.accounts.prove(this.actor.person, ownPassword), tokenSha256);
    return PAGE;
  }

  /** It is called by the routes above too. */
  async page(typed: Typed, errors: readonly FormError[]): Promise<string> {
    const tokens = await this.tokens.ofPerson(this.actor.person);
    return this.pages.render('account-tokens', INTAKE_TOKENS.title, {
      text: INTAKE_TOKENS,
      tokens: tokens.map(({ name, tokenSha256, madeAt, expiresAt }) => ({
        ...{ name, tokenSha256 },
        madeAt: INTAKE_TOKENS.made(madeAt),
        expiresAt: INTAKE_TOKENS.runsOut(expiresAt),
      })),
      fields: FIELDS.map((field) => ({ ...field, value: typed[field.name as keyof Typed] ?? '' })),
      endField: OWN_PASSWORD,
      errors,
    });
  }
}
