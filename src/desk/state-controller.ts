import { Body, Controller, Get, Header, Param } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { kindTitle } from '../kinds/catalogue.js';
import type { Lot } from '../kinds/lot.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { documentStanding } from '../signing/document-standing.js';
import { StateActs, WITHDRAW } from '../signing/state-acts.js';
import { actBySlug, type UnitAct } from '../signing/unit-acts.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { type FormAnswer, FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readForm } from '../web/request-checks.js';

const several = z
  .union([z.string(), z.array(z.string())])
  .transform((value) => [value].flat())
  .pipe(z.array(z.string().min(1).max(200)).max(500));

const UnitsForm = z.strictObject({
  unit: several.default([]),
  reason: z.string().max(4000, 'at most 4000 characters').default(''),
  password: z.string().min(1, 'your password').max(512, 'your password'),
});

const WithdrawForm = UnitsForm.omit({ unit: true });

const LABELS = { units: 'Units', reason: 'Reason', password: 'Password' };

@Controller()
export class StateController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly acts: StateActs,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('lots/:lot/acts/:act')
  @Header(...HTML)
  show(@Param('lot') lot: string, @Param('act') slug: string): Promise<string> {
    return this.unitsPage(lot, actBySlug(slug), { unit: [], reason: '' }, []);
  }

  @Access('signed in')
  @FormPost('lots/:lot/acts/:act')
  async run(@Param('lot') lot: string, @Param('act') slug: string, @Body() body: unknown): Promise<FormAnswer> {
    const act = actBySlug(slug);
    try {
      const { unit, reason, password } = readForm(UnitsForm, body);
      await act.run(this.acts, await this.accounts.prove(this.actor.person, password), lot, unit, reason);
      return { to: `/lots/${encodeURIComponent(lot)}` };
    } catch (error) {
      const errors = formErrors(error, LABELS);
      const { unit, reason } = (body ?? {}) as { unit?: unknown; reason?: unknown };
      const typed = { unit: [unit ?? []].flat().map(String), reason: typeof reason === 'string' ? reason : '' };
      return { to: actAddress(lot, act), page: await this.unitsPage(lot, act, typed, errors) };
    }
  }

  @Access('signed in')
  @Get('withdraw/:kind/:key/:revision')
  @Header(...HTML)
  showWithdrawal(@Param() document: Record<string, string>): Promise<string> {
    return this.withdrawalPage(document, '', []);
  }

  @Access('signed in')
  @FormPost('withdraw/:kind/:key/:revision')
  async withdraw(@Param() params: Record<string, string>, @Body() body: unknown): Promise<FormAnswer> {
    const { kind = '', key = '', revision = '' } = params;
    try {
      const { reason, password } = readForm(WithdrawForm, body);
      const proof = await this.accounts.prove(this.actor.person, password);
      await this.acts.withdrawDocument(proof, { kind, key, revision: Number(revision) }, reason);
      return { to: `/trace?id=${encodeURIComponent(key)}` };
    } catch (error) {
      const errors = formErrors(error, LABELS);
      const { reason } = (body ?? {}) as { reason?: unknown };
      return { to: withdrawAddress(params), page: await this.withdrawalPage(params, String(reason ?? ''), errors) };
    }
  }

  private async withdrawalPage(
    document: Record<string, string>,
    reason: string,
    errors: readonly FormError[],
  ): Promise<string> {
    const { kind = '', key = '', revision } = document;
    const standing = (await documentStanding(this.store, kind, key))?.find((one) => String(one.revision) === revision);
    if (!standing) throw new NotFoundError(kindTitle(kind), `${key} revision ${revision}`);
    const { withdrawnBecause } = standing;
    const why = withdrawnBecause === null ? undefined : `it is withdrawn already: ${withdrawnBecause}`;
    return this.pages.render('state-act', 'Withdraw a document for cause', {
      title: 'Withdraw a document for cause',
      lead: `${kind} ${key} revision ${revision}: from now on no unit that rests on it can be released without a decision of a process and a quality engineer. It stays on record.`,
      address: withdrawAddress(document),
      back: { href: `/trace?id=${encodeURIComponent(key)}`, text: key },
      why: why ?? (await this.acts.whyNot(WITHDRAW, this.actor.person)),
      units: null,
      reason,
      errors,
    });
  }

  private async unitsPage(
    lot: string,
    act: UnitAct,
    typed: { unit: readonly string[]; reason: string },
    errors: readonly FormError[],
  ): Promise<string> {
    const body = (await this.store.read.currentOrThrow('lot', lot)).body as Lot;
    const states = await unitStatesOf(
      this.store.read,
      lot,
      body.implants.map(({ serial }) => serial),
    );
    return this.pages.render('state-act', `${errors.length > 0 ? 'Error: ' : ''}${act.title}: lot ${lot}`, {
      title: act.title,
      lead: act.lead,
      address: actAddress(lot, act),
      why: await this.acts.whyNot(act.act, this.actor.person),
      back: { href: `/lots/${encodeURIComponent(lot)}`, text: `Lot ${lot}` },
      units: states.map((state) => ({
        serial: state.serial,
        says: `${state.decision}${state.hold ? `, on hold: ${state.hold.reason}` : ''}`,
        may: act.applies(state),
        checked: typed.unit.includes(state.serial),
      })),
      reason: typed.reason,
      errors,
    });
  }
}

const actAddress = (lot: string, { slug }: UnitAct): string => `/lots/${encodeURIComponent(lot)}/acts/${slug}`;

const withdrawAddress = ({ kind, key, revision }: Record<string, string>): string =>
  `/withdraw/${[kind, key, revision].map((part) => encodeURIComponent(part ?? '')).join('/')}`;
