import { Body, Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { demandMayTakeIn, whyNotTakeIn } from '../intake/may-take-in.js';
import { LONGEST_TEXT } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { designAddress, designChangeAddress } from '../report/page-addresses.js';
import { CHANGE_FORM } from '../report/phrases/design-changes.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { several } from '../web/fields.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { ChangeLists, type LineAnswer } from './change-lists.js';
import { changeView, LINES_AT_ONCE } from './change-view.js';

const identifier = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);

const ChangeQuery = z.strictObject({
  family: identifier('a family').describe('code of the family'),
  change: identifier('a change').describe('code of the change'),
});
type ChangeQuery = z.infer<typeof ChangeQuery>;

/** The revision that the page showed. */
const Seen = ChangeQuery.extend({ revision: z.coerce.number().int().positive() });

const LONGEST_ANSWER = 2000;
const eachLine = (what: string, longest: number) =>
  several(z.string().max(longest, `${what} of at most ${longest} characters`), { least: 1, most: LINES_AT_ONCE, what });

const Answers = Seen.extend({
  lines: eachLine('lines', 2 * LONGEST_TEXT + 50).describe('the line beside each answer'),
  answers: eachLine('answers', LONGEST_ANSWER),
});
type Answers = z.infer<typeof Answers>;

const Decision = Seen.extend({ decision: z.enum(['go', 'stop'], 'whether it is made') });
type Decision = z.infer<typeof Decision>;

/** What goes back into the forms. */
const typedAgain = z
  .union([z.string().transform((one) => [one]), z.array(z.string())])
  .catch([])
  .default([]);
const Typed = z.object({ family: z.string(), change: z.string(), lines: typedAgain, answers: typedAgain });
type Typed = z.infer<typeof Typed>;

/** Answers with their lines, by which they find back to them: others may have answered some meanwhile. */
const besideLines = (lines: readonly string[], answers: readonly string[]): LineAnswer[] =>
  answers.map((answer, index) => ({ line: lines[index] ?? '', answer }));

const AGAIN = {
  typed: Typed,
  show: (controller: ChangeController, failed: FailedForm<Typed>) => controller.again(failed),
};

const droppedError = ({ line, answer }: LineAnswer): FormError => ({
  field: null,
  says: CHANGE_FORM.dropped(line, answer),
});

/** A change of a design: what it touches both ways, the answer to each line, and what was decided. */
@Controller()
export class ChangeController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly lists: ChangeLists,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('design/change')
  @Header(...HTML)
  show(@Query({ schema: ChangeQuery }) query: ChangeQuery): Promise<string> {
    return this.page(query, [], []);
  }

  /** What it touches now is frozen in its next revision. */
  @Access('signed in')
  @FormPost('design/change/list', AGAIN)
  async list(@Body(filledIn(ChangeQuery)) { family, change }: ChangeQuery): Promise<string> {
    await this.demand();
    await this.lists.freeze(family, change, this.actor.name);
    return designChangeAddress(family, change);
  }

  @Access('signed in')
  @FormPost('design/change/answer', AGAIN)
  async answer(@Body(filledIn(Answers)) { family, lines, answers, ...seen }: Answers): Promise<string> {
    await this.demand();
    await this.lists.answer(family, seen, besideLines(lines, answers), this.actor.name);
    return designChangeAddress(family, seen.change);
  }

  @Access('signed in')
  @FormPost('design/change/decide', AGAIN)
  async decide(@Body(filledIn(Decision)) { family, decision, ...seen }: Decision): Promise<string> {
    await this.demand();
    await this.lists.decide(family, seen, decision, this.actor.name);
    return designChangeAddress(family, seen.change);
  }

  private demand(): Promise<void> {
    const { person, acting } = this.actor.session;
    return demandMayTakeIn(this.store, { person, acting, actor: this.actor.name });
  }

  private async page(
    { family, change }: ChangeQuery,
    typed: readonly LineAnswer[],
    errors: readonly FormError[],
  ): Promise<string> {
    const view = changeView(await this.lists.shown(family, change), typed);
    return this.pages.render('design-change', PAGE_TITLES.designEntry('design-change', change), {
      view,
      form: {
        errors: [...errors, ...view.dropped.map(droppedError)],
        words: CHANGE_FORM,
        why: whyNotTakeIn(this.actor.session),
      },
      back: { text: PAGE_TITLES.designOf(family), href: designAddress(family) },
    });
  }

  async again({ typed: { lines, answers, ...of }, error }: FailedForm<Typed>): Promise<FormAnswer> {
    const page = await this.page(of, besideLines(lines, answers), formErrors(error, CHANGE_FORM.labels));
    return { to: designChangeAddress(of.family, of.change), page };
  }
}
