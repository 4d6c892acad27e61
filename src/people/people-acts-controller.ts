import { Body, Controller, Get, Header, Param, Query, Req } from '@nestjs/common';
import type { Request } from 'express';
import { z } from 'zod';
import { systemClock } from '../base/clock.js';
import { NotFoundError } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import { vouchingNeeded } from '../ledger/person-keys.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PERSON_ACT_WORDS } from '../report/phrases/person-acts.js';
import { Store } from '../store/store.js';
import { Access, NoCases } from '../web/access.js';
import { Reason } from '../web/fields.js';
import type { FormAgain } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import type { FormField } from '../web/form-field.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages, passkeyMarks } from '../web/pages.js';
import { AccountActs } from './account-acts.js';
import type { Account } from './account-state.js';
import { Accounts } from './accounts.js';
import { Actor } from './actor.js';
import { linkPath, type OneTimeLink } from './one-time-link.js';
import {
  CloseForm,
  EndDeputyForm,
  GiveRoleForm,
  InviteForm,
  LinkElsewhereForm,
  NameDeputyForm,
  NewAccountForm,
  newAccountFields,
  PERSON_ACTS,
  type PersonAct,
  TakeRoleForm,
  UnlinkElsewhereForm,
} from './people-acts.js';
import type { Proof } from './proof.js';
import { UnseenLinks } from './unseen-links.js';

const NewAccountQuery = z.strictObject({ person: z.string().max(60).default('') });
type NewAccountQuery = z.infer<typeof NewAccountQuery>;

/** Texts of a form as they were typed, so that nothing has to be typed twice. */
const Typed = z.record(z.string(), Reason.catch(''));
type Typed = z.infer<typeof Typed>;

/** How the form of an act is shown again. */
const again = (slug: string): FormAgain<PeopleActsController, Typed> => ({
  typed: Typed,
  show: (controller, { typed, params, error }) => controller.again(slug, params.person!, typed, error),
});

/** Acts of an administrator on accounts, one page each. */
@Controller('people')
export class PeopleActsController {
  private readonly links = new UnseenLinks();

  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly accounts: Accounts,
    private readonly acts: AccountActs,
    private readonly actor: Actor,
  ) {}

  @Access('administrator')
  @NoCases()
  @Get('new/account')
  @Header(...HTML)
  async newAccount(@Query({ schema: NewAccountQuery }) { person }: NewAccountQuery): Promise<string> {
    const body = (await this.store.read.entries.current('person', person))?.body;
    return this.newAccountPage({ person, name: body?.name ?? '', identityCheckedOn: '' }, []);
  }

  @Access('signed in')
  @FormPost('new/account', {
    typed: Typed,
    show: (controller: PeopleActsController, { typed, error }) => ({
      to: '/people/new/account',
      page: controller.newAccountPage({ ...EMPTY, ...typed }, formErrors(error, labelsOf(newAccountFields(EMPTY)))),
    }),
  })
  async makeAccount(@Body(filledIn(NewAccountForm)) { ownPassword, ...account }: NewAccountForm): Promise<string> {
    return this.keepLink(account.person, await this.acts.make(await this.proof(ownPassword), account));
  }

  /** The link is shown once, to the administrator who made it: it is kept nowhere but here, and only until then. */
  @Access('administrator')
  @NoCases()
  @Get(':person/one-time-link')
  @Header(...HTML)
  async link(@Param('person', NAMED) person: string, @Req() request: Request): Promise<string> {
    const account = (await this.accounts.people()).get(person);
    if (!account) throw new NotFoundError('account', person);
    // Who asks for the head of the page alone has not seen the link.
    const seen = request.method !== 'HEAD';
    const link = seen ? this.links.take(this.actor.session.id, person, systemClock.now()) : undefined;
    return this.linkPage(request, account, link ?? null);
  }

  @Access('administrator')
  @NoCases()
  @Get(':person/:act')
  @Header(...HTML)
  async show(@Param('person', NAMED) person: string, @Param('act', NAMED) slug: string): Promise<string> {
    const { act, account } = await this.find(person, slug);
    return this.actPage(act, account, await this.fieldsOf(act, account), []);
  }

  /** Forms in which a second person proves who they are ask for a passkey of theirs too, where they have one. */
  private async passkeyView() {
    const { id, passkeys } = this.actor.session;
    const all = await this.accounts.passkeys.all();
    if (all.length === 0) return {};
    const others: Record<string, string[]> = {};
    for (const { person, credential } of all) {
      if (person !== this.actor.person) others[person] = [...(others[person] ?? []), credential];
    }
    return { ownScript: true, passkey: () => passkeyMarks(id, passkeys, others) };
  }

  @Access('signed in')
  @FormPost(':person/give-role', again('give-role'))
  async giveRole(
    @Param('person', NAMED) person: string,
    @Body(filledIn(GiveRoleForm)) { role, reason, ownPassword }: GiveRoleForm,
  ): Promise<string> {
    await this.acts.giveRole(await this.proof(ownPassword), person, role, reason);
    return pathOf(person);
  }

  @Access('signed in')
  @FormPost(':person/take-role', again('take-role'))
  async takeRole(
    @Param('person', NAMED) person: string,
    @Body(filledIn(TakeRoleForm)) { role, reason, ownPassword }: TakeRoleForm,
  ): Promise<string> {
    await this.acts.takeRole(await this.proof(ownPassword), person, role, reason);
    return pathOf(person);
  }

  @Access('signed in')
  @FormPost(':person/name-deputy', again('name-deputy'))
  async nameDeputy(
    @Param('person', NAMED) person: string,
    @Body(filledIn(NameDeputyForm)) { reason, ownPassword, ...deputy }: NameDeputyForm,
  ): Promise<string> {
    await this.acts.nameDeputy(await this.proof(ownPassword), { person, ...deputy }, reason);
    return pathOf(person);
  }

  @Access('signed in')
  @FormPost(':person/end-deputy', again('end-deputy'))
  async endDeputy(
    @Param('person', NAMED) person: string,
    @Body(filledIn(EndDeputyForm)) { deputy, reason, ownPassword }: EndDeputyForm,
  ): Promise<string> {
    await this.acts.endDeputy(await this.proof(ownPassword), { person, ...deputy }, reason);
    return pathOf(person);
  }

  @Access('signed in')
  @FormPost(':person/link-elsewhere', again('link-elsewhere'))
  async linkElsewhere(
    @Param('person', NAMED) person: string,
    @Body(filledIn(LinkElsewhereForm)) { reason, ownPassword, ...elsewhere }: LinkElsewhereForm,
  ): Promise<string> {
    await this.acts.linkElsewhere(await this.proof(ownPassword), person, elsewhere, reason);
    return pathOf(person);
  }

  @Access('signed in')
  @FormPost(':person/unlink-elsewhere', again('unlink-elsewhere'))
  async unlinkElsewhere(
    @Param('person', NAMED) person: string,
    @Body(filledIn(UnlinkElsewhereForm)) { reason, ownPassword }: UnlinkElsewhereForm,
  ): Promise<string> {
    await this.acts.unlinkElsewhere(await this.proof(ownPassword), person, reason);
    return pathOf(person);
  }

  @Access('signed in')
  @FormPost(':person/link', again('link'))
  async invite(
    @Param('person', NAMED) person: string,
    @Body(filledIn(InviteForm)) { reason, ownPassword, second, secondPassword }: InviteForm,
  ): Promise<string> {
    const proof = await this.proof(ownPassword);
    const other = second === undefined ? undefined : await this.accounts.prove(second, secondPassword ?? '');
    return this.keepLink(person, await this.acts.invite(proof, person, reason, other));
  }

  @Access('signed in')
  @FormPost(':person/close', again('close'))
  async close(
    @Param('person', NAMED) person: string,
    @Body(filledIn(CloseForm)) { reason, ownPassword }: CloseForm,
  ): Promise<string> {
    await this.acts.close(await this.proof(ownPassword), person, reason);
    return pathOf(person);
  }

  /** The form of an act with what is wrong. It is called by the routes above. */
  async again(slug: string, person: string, typed: Typed, error: unknown): Promise<FormAnswer> {
    const { act, account } = await this.find(person, slug);
    const fields = await this.fieldsOf(act, account);
    const page = await this.actPage(act, account, fillIn(fields, typed), formErrors(error, labelsOf(fields)));
    return { to: `${pathOf(person)}/${slug}`, page };
  }

  /** Whoever acts signs it, with the key that their password opens. */
  private proof(ownPassword: string): Promise<Proof> {
    return this.accounts.prove(this.actor.person, ownPassword);
  }

  private async find(person: string, slug: string): Promise<{ act: PersonAct; account: Account }> {
    const act = PERSON_ACTS.find((one) => one.slug === slug);
    const account = (await this.accounts.people()).get(person);
    if (!account) throw new NotFoundError('account', person);
    if (!act) throw new NotFoundError('act on an account', slug);
    return { act, account };
  }

  private async fieldsOf(act: PersonAct, account: Account): Promise<FormField[]> {
    const { keys } = (await this.store.read.events.knownKeys()).people;
    return act.fields(account, await this.accounts.people(), vouchingNeeded(keys, account.person) > 1);
  }

  private newAccountPage(value: typeof EMPTY, errors: readonly FormError[]): string {
    return this.pages.render('account-act', NEW_ACCOUNT.title, {
      act: NEW_ACCOUNT,
      address: '/people/new/account',
      back: { href: '/people', text: PAGE_TITLES.people },
      fields: newAccountFields(value),
      errors,
    });
  }

  private async actPage(
    act: PersonAct,
    account: Account,
    fields: FormField[],
    errors: readonly FormError[],
  ): Promise<string> {
    const address = pathOf(account.person);
    const empty = fields.find((field) => field.options?.length === 0);
    return this.pages.render('account-act', PAGE_TITLES.personAct(act.title, account.name), {
      act,
      account,
      address: `${address}/${act.slug}`,
      back: { href: address, text: account.name },
      fields,
      errors,
      nothing: empty && FORM_LABELS.nothingToChoose(empty.label),
      ...(fields.some(({ name }) => name === 'second') ? await this.passkeyView() : {}),
    });
  }

  /** @returns the address at which the link is shown. */
  private keepLink(person: string, link: OneTimeLink): string {
    this.links.keep(this.actor.session.id, person, link, systemClock.now());
    return `${pathOf(person)}/one-time-link`;
  }

  private linkPage(
    request: Request,
    { person, name }: { person: string; name: string },
    link: OneTimeLink | null,
  ): string {
    return this.pages.render('account-link', PAGE_TITLES.oneTimeLink(name), {
      person,
      name,
      link: link && `${request.protocol}://${request.headers.host}${linkPath(link.token)}`,
      expiresAt: link && timeText(link.expiresAt),
    });
  }
}

const pathOf = (person: string): string => `/people/${encodeURIComponent(person)}`;

const NEW_ACCOUNT = PERSON_ACT_WORDS['new/account'];

const EMPTY = { person: '', name: '', identityCheckedOn: '' };

const labelsOf = (fields: readonly FormField[]): Record<string, string> =>
  Object.fromEntries(fields.map(({ name, label }) => [name, label]));

const fillIn = (fields: readonly FormField[], typed: Typed): FormField[] =>
  fields.map((field) => ({ ...field, value: typed[field.name] ?? field.value ?? '' }));
