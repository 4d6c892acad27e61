import { Body, Controller, Get, Header, Param, Query, Req } from '@nestjs/common';
import type { Request } from 'express';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import type { Person } from '../kinds/person.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { FormField } from '../web/form-field.js';
import { type FormAnswer, FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readForm, readRequest } from '../web/request-checks.js';
import type { Account } from './account-state.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { linkPath, type OneTimeLink } from './one-time-link.js';
import { NewAccountForm, newAccountFields, PERSON_ACTS, type PersonAct } from './people-acts.js';

const NewAccountQuery = z.strictObject({ person: z.string().max(60).default('') });

/** Acts of an administrator on accounts, one page each. */
@Controller('people')
export class PeopleActsController {
  /** Links that were made and not shown yet, by the session that made them. */
  private readonly links = new Map<string, { readonly person: string; readonly link: OneTimeLink }>();

  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('administrator')
  @Get('new/account')
  @Header(...HTML)
  async newAccount(@Query() query: unknown): Promise<string> {
    const { person } = readRequest(NewAccountQuery, query);
    const body = (await this.store.read.current('person', person))?.body as Person | undefined;
    return this.newAccountPage({ person, name: body?.name ?? '', identityCheckedOn: '' }, []);
  }

  @Access('signed in')
  @FormPost('new/account')
  async makeAccount(@Body() body: unknown): Promise<FormAnswer> {
    const typed = typedTexts(body);
    try {
      const account = readForm(NewAccountForm, body);
      return { to: this.keepLink(account, await this.accounts.make(this.actor.person, account)) };
    } catch (error) {
      const errors = formErrors(error, labelsOf(newAccountFields(EMPTY)));
      return { to: '/people/new/account', page: this.newAccountPage({ ...EMPTY, ...typed }, errors) };
    }
  }

  /** The link is shown once, to the administrator who made it: it is kept nowhere but here, and only until then. */
  @Access('administrator')
  @Get(':person/one-time-link')
  @Header(...HTML)
  async link(@Param('person') person: string, @Req() request: Request): Promise<string> {
    const account = (await this.accounts.people()).get(person);
    if (!account) throw new NotFoundError('account', person);
    const { id } = this.actor.session;
    const kept = this.links.get(id);
    if (kept?.person === person) this.links.delete(id);
    return this.linkPage(request, account, kept?.person === person ? kept.link : null);
  }

  @Access('administrator')
  @Get(':person/:act')
  @Header(...HTML)
  async show(@Param('person') person: string, @Param('act') slug: string): Promise<string> {
    const { act, account } = await this.find(person, slug);
    return this.actPage(act, account, await this.fieldsOf(act, account), []);
  }

  @Access('signed in')
  @FormPost(':person/:act')
  async run(@Param('person') person: string, @Param('act') slug: string, @Body() body: unknown): Promise<FormAnswer> {
    const { act, account } = await this.find(person, slug);
    const fields = await this.fieldsOf(act, account);
    try {
      const link = await act.run(this.accounts, this.actor.person, person, body);
      return { to: link ? this.keepLink(account, link) : `/people/${encodeURIComponent(person)}` };
    } catch (error) {
      const errors = formErrors(error, labelsOf(fields));
      return {
        to: `/people/${encodeURIComponent(person)}/${act.slug}`,
        page: this.actPage(act, account, fillIn(fields, typedTexts(body)), errors),
      };
    }
  }

  private async find(person: string, slug: string): Promise<{ act: PersonAct; account: Account }> {
    const act = PERSON_ACTS.find((one) => one.slug === slug);
    const account = (await this.accounts.people()).get(person);
    if (!account) throw new NotFoundError('account', person);
    if (!act) throw new NotFoundError('act on an account', slug);
    return { act, account };
  }

  private async fieldsOf(act: PersonAct, account: Account): Promise<FormField[]> {
    return act.fields(account, await this.accounts.people());
  }

  private newAccountPage(value: typeof EMPTY, errors: readonly FormError[]): string {
    return this.pages.render('account-act', titled('Make an account', errors), {
      act: {
        title: 'Make an account',
        lead: 'Without roles at first. You get a one-time link to hand to the person, who chooses a password that you never see.',
        button: 'Make the account',
      },
      address: '/people/new/account',
      back: { href: '/people', text: 'People' },
      fields: newAccountFields(value),
      errors,
    });
  }

  private actPage(act: PersonAct, account: Account, fields: FormField[], errors: readonly FormError[]): string {
    const address = `/people/${encodeURIComponent(account.person)}`;
    const empty = fields.find((field) => field.options?.length === 0);
    return this.pages.render('account-act', titled(`${act.title}: ${account.name}`, errors), {
      act,
      account,
      address: `${address}/${act.slug}`,
      back: { href: address, text: account.name },
      fields,
      errors,
      nothing: empty && `There is nothing to choose for “${empty.label}”.`,
    });
  }

  /** @returns the address at which the link is shown. */
  private keepLink({ person }: { person: string }, link: OneTimeLink): string {
    this.links.set(this.actor.session.id, { person, link });
    return `/people/${encodeURIComponent(person)}/one-time-link`;
  }

  private linkPage(
    request: Request,
    { person, name }: { person: string; name: string },
    link: OneTimeLink | null,
  ): string {
    return this.pages.render('account-link', `One-time link for ${name}`, {
      person,
      name,
      link: link && `${request.protocol}://${request.headers.host}${linkPath(link.token)}`,
      expiresAt: link && timeText(link.expiresAt),
    });
  }
}

const EMPTY = { person: '', name: '', identityCheckedOn: '' };

const titled = (title: string, errors: readonly FormError[]): string => (errors.length > 0 ? `Error: ${title}` : title);

const labelsOf = (fields: readonly FormField[]): Record<string, string> =>
  Object.fromEntries(fields.map(({ name, label }) => [name, label]));

/** Texts of a form as they were typed, so that nothing has to be typed twice. */
function typedTexts(body: unknown): Record<string, string> {
  const texts = Object.entries(typeof body === 'object' && body !== null ? body : {});
  return Object.fromEntries(
    texts.filter((pair): pair is [string, string] => typeof pair[1] === 'string' && pair[1].length <= 400),
  );
}

const fillIn = (fields: readonly FormField[], typed: Record<string, string>): FormField[] =>
  fields.map((field) => ({ ...field, value: typed[field.name] ?? field.value ?? '' }));
