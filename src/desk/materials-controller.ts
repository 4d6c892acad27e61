import { Body, Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { Intake } from '../intake/intake.js';
import { issuedLot } from '../intake/material-issue.js';
import { demandMayTakeIn, whyNotTakeIn } from '../intake/may-take-in.js';
import { UPKEEP } from '../kinds/machine.js';
import { Actor } from '../people/actor.js';
import { ISSUE } from '../report/phrases/material-issue.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { STOCK } from '../report/phrases/stock.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { RowPlace } from '../web/turned.js';
import { consumablesInUse, powderOnStock, receiptStock, SHOWN_RECEIPTS } from './stock-view.js';

const StockQuery = z.strictObject({
  show: z.enum(SHOWN_RECEIPTS).default('all').describe('receipts that stand so'),
  receipt: RowPlace.describe('the first receipt that is shown'),
  state: RowPlace.describe('the first powder state'),
  consumable: RowPlace.describe('the first consumable'),
});
type StockQuery = z.infer<typeof StockQuery>;

const line = z.string().max(400);
const IssueFields = z.strictObject({ code: line.min(1), massG: line, build: line.min(1) });
type IssueFields = z.infer<typeof IssueFields>;
/** What goes back into the form. */
const TypedIssue = z.object({ code: line.catch(''), massG: line.catch(''), build: line.catch('') });
type TypedIssue = z.infer<typeof TypedIssue>;
const NOTHING_TYPED: TypedIssue = { code: '', massG: '', build: '' };

/** What the cell has: materials and gas as received, powder, what wears out, equipment. */
@Controller('materials')
export class MaterialsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly intake: Intake,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(@Query({ schema: StockQuery }) asked: StockQuery): Promise<string> {
    return this.page(asked, NOTHING_TYPED, []);
  }

  /** One thing goes to a planned build: one line, one revision of its lot. */
  @Access('signed in')
  @FormPost('issue', {
    typed: TypedIssue,
    show: (controller: MaterialsController, failed) => controller.again(failed),
  })
  async issue(@Body(filledIn(IssueFields)) issue: IssueFields): Promise<string> {
    const { person, acting } = this.actor.session;
    await demandMayTakeIn(this.store, { person, acting, actor: this.actor.name });
    const document = await issuedLot(this.store.read, issue);
    await this.intake.take([document], this.actor.name);
    return `/materials#issue`;
  }

  private async again({ typed, error }: FailedForm<TypedIssue>): Promise<FormAnswer> {
    const page = await this.page(StockQuery.parse({}), typed, formErrors(error, ISSUE.labels));
    return { to: '/materials', page };
  }

  private async page(asked: StockQuery, typed: TypedIssue, errors: readonly FormError[]): Promise<string> {
    const today = this.store.clock.now().toISOString().slice(0, 10);
    const { read } = this.store;
    const list = read.entries;
    return this.pages.render('materials', PAGE_TITLES.materials, {
      asked,
      shown: STOCK.shown,
      errors,
      issue: {
        words: ISSUE,
        typed,
        why: whyNotTakeIn(this.actor.session),
        builds: (await list.list('build'))
          .filter(({ body }) => body.state === 'planned')
          .map(({ key, body }) => ({ value: key, label: ISSUE.buildOf(key, body.lot) })),
      },
      receipts: await receiptStock(read, today, asked.show, asked.receipt),
      states: await powderOnStock(read, asked.state),
      consumables: await consumablesInUse(read, asked.consumable),
      machines: (await list.list('machine')).map(({ body }) => ({
        ...body,
        due: UPKEEP.flatMap((what) =>
          lastDue(
            what,
            (body.upkeep ?? []).filter((one) => one.what === what),
            today,
          ),
        ),
      })),
      instruments: (await list.list('instrument')).map(({ body }) => ({
        ...body,
        due: lastDue('calibration', body.calibrations, today),
      })),
    });
  }
}

function lastDue(what: string, done: readonly { readonly due: string }[], today: string) {
  const due = done
    .map((one) => one.due)
    .sort()
    .at(-1);
  if (due === undefined) return [];
  const day = due.slice(0, 10);
  return [{ what, on: day, isOver: day < today }];
}
