import { Body, Controller, Get, Header, Param, Res } from '@nestjs/common';
import type { Response } from 'express';
import { z } from 'zod';
import { BadInputError } from '../base/errors.js';
import { Code, Text } from '../kinds/fields.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { AccountLinks } from './account-links.js';
import type { Account } from './account-state.js';
import { linkPath } from './one-time-link.js';
import { checkRepeated, NewPassword, PASSWORD_HINT } from './password-fields.js';

/** Identifier and name are chosen by the first administrator; everybody else has them already. */
const SetUpForm = z
  .strictObject({
    person: Code.optional(),
    name: Text.max(200, 'at most 200 characters').optional(),
    ...NewPassword,
  })
  .superRefine(checkRepeated);
type SetUpForm = z.infer<typeof SetUpForm>;

/** What goes back into the form. A password never does. */
const Typed = z.object({ person: z.string().max(400).catch(''), name: z.string().max(400).catch('') });
type Typed = z.infer<typeof Typed>;

const LABELS = {
  person: FORM_LABELS.identifier,
  name: FORM_LABELS.name,
  password: FORM_LABELS.password,
  repeated: FORM_LABELS.passwordAgain,
};

/** The page behind a one-time link: a person chooses the password that nobody else knows. */
@Controller('set-up')
export class SetUpController {
  constructor(
    private readonly pages: Pages,
    private readonly links: AccountLinks,
  ) {}

  @Access('everyone')
  @Get('done')
  @Header(...HTML)
  done(): string {
    return this.pages.render('set-up', PAGE_TITLES.passwordSet, { errors: [], done: true });
  }

  @Access('everyone')
  @Get(':token')
  @Header(...HTML)
  async show(@Param('token', NAMED) token: string, @Res({ passthrough: true }) response: Response): Promise<string> {
    const { page, status } = await this.page(token, NOTHING_TYPED, () => []);
    response.status(status);
    return page;
  }

  @Access('everyone')
  @FormPost(':token', {
    typed: Typed,
    show: async (controller: SetUpController, { typed, params, error }) => ({
      to: linkPath(params.token!),
      ...(await controller.page(params.token!, typed, () => formErrors(error, LABELS))),
    }),
  })
  async set(@Param('token', NAMED) token: string, @Body(filledIn(SetUpForm)) form: SetUpForm): Promise<string> {
    const link = await this.links.openLink(token);
    if (link.first) await this.links.makeFirst(token, firstPerson(form));
    else await this.links.setPassword(token, form.password);
    return '/set-up/done';
  }

  /** The form for as long as the link works. @param errors of the form, asked for only then. */
  private async page(
    token: string,
    typed: Typed,
    errors: () => readonly FormError[],
  ): Promise<{ page: string; status: number }> {
    const link = await this.links.findLink(token);
    if (link.why !== null) {
      const { why } = link;
      return { page: this.pages.render('set-up', PAGE_TITLES.brokenLink, { errors: [], why }), status: 403 };
    }
    const wrong = errors();
    return { page: this.form(token, link.account, { errors: wrong, typed }), status: wrong.length > 0 ? 400 : 200 };
  }

  private form(
    token: string,
    account: Account | undefined,
    { errors, typed }: { errors: readonly FormError[]; typed: Typed },
  ): string {
    const who = [
      {
        name: 'person',
        label: LABELS.person,
        hint: FORM_LABELS.ownIdentifierHint,
        type: 'text',
        value: typed.person,
        autocomplete: 'username',
        required: true,
      },
      {
        name: 'name',
        label: LABELS.name,
        hint: FORM_LABELS.ownNameHint,
        type: 'text',
        value: typed.name,
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
    const title = account ? PAGE_TITLES.choosePassword : PAGE_TITLES.firstAdministrator;
    const fields = account ? passwords : [...who, ...passwords];
    return this.pages.render('set-up', title, {
      token,
      account,
      errors,
      fields,
    });
  }
}

const NOTHING_TYPED: Typed = { person: '', name: '' };

/** @throws BadInputError for a form that was not shown to the first administrator. */
function firstPerson({ person, name, password }: SetUpForm): { person: string; name: string; password: string } {
  if (person !== undefined && name !== undefined) return { person, name, password };
  throw new BadInputError(
    (['person', 'name'] as const).map((field) => ({
      code: 'missing',
      field,
      expected: 'identifier and name of the first administrator',
      remedy: 'open the link again and send its form',
    })),
  );
}
