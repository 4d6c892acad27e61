import { Body, Controller, Get, Header, Param } from '@nestjs/common';
import { timeText } from '../dossier/time-text.js';
import { verdictChanges } from '../lots/verdict-changes.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { changedVerdictText } from '../report/phrases/earlier-version.js';
import { FORM_LABELS } from '../report/phrases/form-labels.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { LookRequest, TypedLook } from '../signing/sign-requests.js';
import { LOOK_AT_CHANGES, StateActs } from '../signing/state-acts.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';

const LABELS = {
  entries: FORM_LABELS.entries,
  reason: FORM_LABELS.whatFollows,
  password: FORM_LABELS.password,
};

/** Verdicts of a lot that this version of the program changed, for a quality engineer to look at. */
@Controller('lots/:lot/changed-verdicts')
export class ChangedVerdictsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly acts: StateActs,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, '', []);
  }

  @Access('signed in')
  @FormPost('', {
    typed: TypedLook,
    show: (controller: ChangedVerdictsController, failed) => controller.again(failed),
  })
  async look(
    @Param('lot', NAMED) lot: string,
    @Body(filledIn(LookRequest)) { entries, reason, password }: LookRequest,
  ): Promise<string> {
    await this.acts.lookAtChanges(await this.accounts.prove(this.actor.person, password), lot, entries, reason);
    return addressOf(lot);
  }

  private async again({ typed, params, error }: FailedForm<TypedLook>): Promise<FormAnswer> {
    const page = await this.page(params.lot!, typed.reason, formErrors(error, LABELS));
    return { to: addressOf(params.lot!), page };
  }

  private async page(lot: string, reason: string, errors: readonly FormError[]): Promise<string> {
    await this.store.read.entries.currentOrThrow('lot', lot);
    const changes = verdictChanges(await this.store.read.events.of({ kind: 'lot', key: lot }));
    const lines = changes.map((change) => ({
      entry: change.entry,
      at: timeText(change.at),
      says: changedVerdictText(change),
      seen: change.seen && { ...change.seen, at: timeText(change.seen.at) },
    }));
    const open = lines.filter(({ seen }) => seen === null);
    return this.pages.render('changed-verdicts', PAGE_TITLES.changedVerdicts(lot), {
      lot,
      address: addressOf(lot),
      why: await this.acts.whyNot(LOOK_AT_CHANGES, this.actor.person),
      open,
      entries: [...new Set(open.map((line) => line.entry))],
      seen: lines.filter((line) => line.seen !== null),
      reason,
      errors,
    });
  }
}

const addressOf = (lot: string): string => `/lots/${encodeURIComponent(lot)}/changed-verdicts`;
