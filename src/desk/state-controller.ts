import { Body, Controller, Get, Header, Param } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { partsInside } from '../kinds/split-lot.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { findAddress } from '../report/page-addresses.js';
import { decisionAndHoldText } from '../report/phrases/decision.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { kindText } from '../report/phrases/kinds.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { WITHDRAWAL } from '../report/phrases/unit-acts.js';
import { documentStanding } from '../signing/document-standing.js';
import { TypedAct, UnitActRequest, WithdrawRequest } from '../signing/sign-requests.js';
import { StateActs, WITHDRAW } from '../signing/state-acts.js';
import { actBySlug, type UnitAct } from '../signing/unit-acts.js';
import { currentLot } from '../store/lots-now.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';

/** One way to write each, so that the page and its form mean the same revision. */
const RevisionNumber = z.string().regex(/^[1-9]\d{0,8}$/, 'number of a revision, from 1');

const WithdrawParams = z.strictObject({ kind: NAMED.schema, key: NAMED.schema, revision: RevisionNumber });
type WithdrawParams = z.infer<typeof WithdrawParams>;

const LABELS = { units: FORM_LABELS.units, reason: FORM_LABELS.reason, password: FORM_LABELS.password };

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
  show(@Param('lot', NAMED) lot: string, @Param('act', NAMED) slug: string): Promise<string> {
    return this.unitsPage(lot, actBySlug(slug), NOTHING_TYPED, []);
  }

  @Access('signed in')
  @FormPost('lots/:lot/acts/:act', {
    typed: TypedAct,
    show: (controller: StateController, failed) => controller.unitsAgain(failed),
  })
  async run(
    @Param('lot', NAMED) lot: string,
    @Param('act', NAMED) slug: string,
    @Body(filledIn(UnitActRequest)) { units, reason, password }: UnitActRequest,
  ): Promise<string> {
    const act = actBySlug(slug);
    await act.run(this.acts, await this.accounts.prove(this.actor.person, password), lot, units, reason);
    return `/lots/${encodeURIComponent(lot)}`;
  }

  private async unitsAgain({ typed, params, error }: FailedForm<TypedAct>): Promise<FormAnswer> {
    const act = actBySlug(params.act!);
    const page = await this.unitsPage(params.lot!, act, typed, formErrors(error, LABELS));
    return { to: actAddress(params.lot!, act), page };
  }

  @Access('signed in')
  @Get('withdraw/:kind/:key/:revision')
  @Header(...HTML)
  showWithdrawal(@Param({ schema: WithdrawParams }) document: WithdrawParams): Promise<string> {
    return this.withdrawalPage(document, '', []);
  }

  @Access('signed in')
  @FormPost('withdraw/:kind/:key/:revision', {
    typed: TypedAct,
    show: (controller: StateController, failed) => controller.withdrawalAgain(failed),
  })
  async withdraw(
    @Param({ schema: WithdrawParams }) { kind, key, revision }: WithdrawParams,
    @Body(filledIn(WithdrawRequest)) { reason, password }: WithdrawRequest,
  ): Promise<string> {
    const proof = await this.accounts.prove(this.actor.person, password);
    await this.acts.withdrawDocument(proof, { kind, key, revision: Number(revision) }, reason);
    return findAddress(key);
  }

  private async withdrawalAgain({ typed, params, error }: FailedForm<TypedAct>): Promise<FormAnswer> {
    const document = { kind: params.kind!, key: params.key!, revision: params.revision! };
    const page = await this.withdrawalPage(document, typed.reason, formErrors(error, LABELS));
    return { to: withdrawAddress(document), page };
  }

  private async withdrawalPage(
    document: WithdrawParams,
    reason: string,
    errors: readonly FormError[],
  ): Promise<string> {
    const { kind, key, revision } = document;
    const standing = (await documentStanding(this.store, kind, key))?.find((one) => String(one.revision) === revision);
    if (!standing) throw new NotFoundError(kindText(kind), `${key} revision ${revision}`);
    const { withdrawnBecause } = standing;
    const why = withdrawnBecause === null ? undefined : WITHDRAWAL.already(withdrawnBecause);
    return this.pages.render('state-act', WITHDRAWAL.title, {
      lead: WITHDRAWAL.lead(kind, key, revision),
      address: withdrawAddress(document),
      back: { href: findAddress(key), text: key },
      why: why ?? (await this.acts.whyNot(WITHDRAW, this.actor.person)),
      units: null,
      reason,
      errors,
    });
  }

  private async unitsPage(lot: string, act: UnitAct, typed: TypedAct, errors: readonly FormError[]): Promise<string> {
    const { implants } = partsInside(await currentLot(this.store.read, lot));
    const states = await unitStatesOf(
      this.store.read,
      lot,
      implants.map(({ serial }) => serial),
    );
    return this.pages.render('state-act', PAGE_TITLES.unitAct(act.title, lot), {
      lead: act.lead,
      address: actAddress(lot, act),
      why: await this.acts.whyNot(act.act, this.actor.person),
      back: { href: `/lots/${encodeURIComponent(lot)}`, text: PAGE_TITLES.lot(lot) },
      units: states.map((state) => ({
        serial: state.serial,
        says: decisionAndHoldText(state, state.hold?.reason ?? null),
        may: act.applies(state),
        checked: typed.units.includes(state.serial),
      })),
      reason: typed.reason,
      errors,
    });
  }
}

const NOTHING_TYPED: TypedAct = { units: [], reason: '' };

const actAddress = (lot: string, { slug }: UnitAct): string => `/lots/${encodeURIComponent(lot)}/acts/${slug}`;

const withdrawAddress = ({ kind, key, revision }: WithdrawParams): string =>
  `/withdraw/${[kind, key, revision].map(encodeURIComponent).join('/')}`;
