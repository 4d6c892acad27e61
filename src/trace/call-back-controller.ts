import { Body, Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { Intake } from '../intake/intake.js';
import { demandMayTakeIn, whyNotTakeIn } from '../intake/may-take-in.js';
import { Moment } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { recallAddress } from '../report/page-addresses.js';
import { CALL_BACK, RECALL_LINES, recallQuery } from '../report/phrases/recall.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { LONGEST_REASON, mayBeEmpty } from '../web/fields.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { consigneesOf, stillHere } from './recall.js';
import { draftedRecall, madeRecall, unitsToCallBack } from './recall-begun.js';
import { Tracer } from './tracer.js';

const line = z.string().trim().max(400);
const OptionalMoment = mayBeEmpty(Moment);

const Of = z.strictObject({
  id: z.string().trim().min(1, 'an identifier').max(200),
  from: OptionalMoment,
  to: OptionalMoment,
});
type Of = z.infer<typeof Of>;

const Fields = Of.extend({
  what: z.enum(['drill', 'recall']),
  code: line,
  trigger: line,
  reason: z.string().trim().max(LONGEST_REASON),
  aim: mayBeEmpty(line),
});
type Fields = z.infer<typeof Fields>;

/** What goes back into the form. */
const Typed = z.object({
  ...{ id: line.catch(''), from: line.catch(''), to: line.catch(''), what: line.catch('drill') },
  ...{ code: line.catch(''), trigger: line.catch(''), aim: line.catch('') },
  reason: z.string().max(LONGEST_REASON).catch(''),
});
type Typed = z.infer<typeof Typed>;

/** Calls back what a trace reaches, or tries that out: one form, one act. */
@Controller('call-back')
export class CallBackController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly tracer: Tracer,
    private readonly intake: Intake,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(@Query({ schema: Of }) { id, from = '', to = '' }: Of): Promise<string> {
    return this.page({ ...Typed.parse({}), id, from, to }, []);
  }

  @Access('signed in')
  @FormPost('', { typed: Typed, show: (controller: CallBackController, failed) => controller.again(failed) })
  async begin(@Body(filledIn(Fields)) { what, aim, ...typed }: Fields): Promise<string> {
    const { person, acting } = this.actor.session;
    await demandMayTakeIn(this.store, { person, acting, actor: this.actor.name });
    const { from, to } = typed;
    const begun = { ...typed, from, to, drill: what === 'drill', aimHours: aim };
    const { document } = await draftedRecall({ store: this.store, tracer: this.tracer }, begun);
    await this.intake.take([madeRecall(document)], this.actor.name);
    return recallAddress(typed.code);
  }

  private async again({ typed, error }: FailedForm<Typed>): Promise<FormAnswer> {
    const errors = formErrors(error, CALL_BACK.labels, CALL_BACK.asks);
    return { to: `/call-back?${new URLSearchParams(ofTyped(typed))}`, page: await this.page(typed, errors) };
  }

  private async page(typed: Typed, errors: readonly FormError[]): Promise<string> {
    const of = ofTyped(typed);
    const { units, head } = await unitsToCallBack({ store: this.store, tracer: this.tracer }, of);
    return this.pages.render('call-back', CALL_BACK.title(recallQuery(of)), {
      typed,
      errors,
      form: CALL_BACK,
      why: whyNotTakeIn(this.actor.session),
      says: RECALL_LINES.expected(units.length, stillHere(units).length, consigneesOf(units).length),
      asOf: head.size,
    });
  }
}

/** What is called back, without the fields that were left empty. */
const ofTyped = ({ id, from, to }: Typed) => ({ id, ...(from === '' ? {} : { from }), ...(to === '' ? {} : { to }) });
