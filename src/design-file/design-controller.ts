import { Body, Controller, Get, Header, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { demandMayTakeIn, whyNotTakeIn } from '../intake/may-take-in.js';
import { Code, Day, Moment } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { plainName } from '../records/bag.js';
import { DESIGN_ORDERS } from '../report/design-template.js';
import { designAddress } from '../report/page-addresses.js';
import { FREEZE_FORM } from '../report/phrases/design-page.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { inline } from '../web/disposition.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { readAsOf } from './as-of.js';
import { Baselines } from './baselines.js';
import { DesignAnswer } from './design-answer.js';
import { DesignAnswers } from './design-answers.js';
import type { DesignQuestions } from './design-questions.js';
import { comparisonView, deviceFileView } from './design-view.js';
import { DesignPapers } from './paper/design-papers.js';

const identifier = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);

const DesignQuery = z.strictObject({
  family: identifier('a family').describe('code of the family'),
  asOf: z
    .union([Day, Moment])
    .optional()
    .describe('day, to its end (UTC), or moment: what was on record then counts, and nothing later'),
});
type DesignQuery = z.infer<typeof DesignQuery>;

const EntryQuery = z.strictObject({
  family: identifier('a family'),
  kind: identifier('a kind'),
  key: identifier('a code'),
});
type EntryQuery = z.infer<typeof EntryQuery>;

const FileQuery = DesignQuery.extend({ order: z.enum(DESIGN_ORDERS).default('design-history') });
type FileQuery = z.infer<typeof FileQuery>;

const CompareQuery = z.strictObject({
  family: identifier('a family'),
  from: identifier('a baseline'),
  to: z.string().trim().max(200).default('').describe('another baseline; as it stands when empty'),
});
type CompareQuery = z.infer<typeof CompareQuery>;

const line = z.string().trim().max(200);
const isCode = (text: string): boolean => Code.safeParse(text).success;
const FreezeFields = z.strictObject({ family: identifier('a family'), name: line.refine(isCode, FREEZE_FORM.asks) });
type FreezeFields = z.infer<typeof FreezeFields>;
/** What goes back into the form. */
const TypedFreeze = z.object({ family: z.string(), name: z.string().catch('') });
type TypedFreeze = z.infer<typeof TypedFreeze>;

/** The design history of a family. */
@Controller()
export class DesignController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly answers: DesignAnswers,
    private readonly baselines: Baselines,
    private readonly papers: DesignPapers,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('design')
  @Header(...HTML)
  async show(@Query({ schema: DesignQuery }) query: DesignQuery): Promise<string> {
    return this.page(await this.asked(query), '', []);
  }

  /** The design as it stands becomes a baseline, which people sign afterwards. */
  @Access('signed in')
  @FormPost('design/freeze', {
    typed: TypedFreeze,
    show: (controller: DesignController, failed) => controller.again(failed),
  })
  async freeze(@Body(filledIn(FreezeFields)) { family, name }: FreezeFields): Promise<string> {
    const { person, acting } = this.actor.session;
    await demandMayTakeIn(this.store, { person, acting, actor: this.actor.name });
    await this.baselines.freeze(family, name, this.actor.name);
    return `${designAddress(family)}#baselines`;
  }

  /** The file of the design as PDF. */
  @Access('signed in')
  @Get('design/file.pdf')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async file(@Query({ schema: FileQuery }) { family, asOf, order }: FileQuery): Promise<StreamableFile> {
    const at = asOf === undefined ? undefined : await readAsOf(asOf, this.store);
    const { pdf, number } = await this.papers.print(family, this.actor.name, order, at);
    const disposition = inline(`${plainName(number)}.pdf`);
    return new StreamableFile(pdf, { type: 'application/pdf', disposition, length: pdf.length });
  }

  @Access('signed in')
  @Get('design/device-file')
  @Header(...HTML)
  async deviceFile(@Query({ schema: DesignQuery }) query: DesignQuery): Promise<string> {
    const view = deviceFileView(await this.answers.ask('deviceFile', await this.asked(query)));
    return this.pages.render('device-file', PAGE_TITLES.deviceFile(query.family), {
      view,
      back: { text: PAGE_TITLES.designOf(query.family), href: designAddress(query.family) },
    });
  }

  @Access('signed in')
  @Get('design/compare')
  @Header(...HTML)
  async compare(@Query({ schema: CompareQuery }) { family, from, to }: CompareQuery): Promise<string> {
    const found = await this.answers.ask('comparison', { family, from, to: to === '' ? undefined : to });
    return this.pages.render('design-compare', PAGE_TITLES.designCompared(family), {
      view: comparisonView(found),
      back: { text: PAGE_TITLES.designOf(family), href: designAddress(family) },
    });
  }

  @Access('signed in')
  @Get('design/entry')
  @Header(...HTML)
  async entry(@Query({ schema: EntryQuery }) { family, kind, key }: EntryQuery): Promise<string> {
    return this.pages.render('design-entry', PAGE_TITLES.designEntry(kind, key), {
      view: await this.answers.ask('entry', { family, kind, key }),
      back: { text: PAGE_TITLES.designOf(family), href: designAddress(family) },
    });
  }

  @Access('signed in')
  @Operation({ summary: 'Design history of a family: gaps, and ways from need to test', answer: DesignAnswer })
  @FollowsFromRecords()
  @Get('api/v1/design')
  async report(@Query({ schema: DesignQuery }) query: DesignQuery): Promise<DesignAnswer> {
    return this.answers.ask('answer', await this.asked(query));
  }

  private async asked({ family, asOf }: DesignQuery): Promise<DesignQuestions['answer']> {
    return { family, asOf: asOf === undefined ? undefined : await readAsOf(asOf, this.store) };
  }

  private async page(asked: DesignQuestions['page'], name: string, errors: readonly FormError[]): Promise<string> {
    return this.pages.render('design', PAGE_TITLES.designOf(asked.family), {
      view: await this.answers.ask('page', asked),
      freeze: { name, errors, why: whyNotTakeIn(this.actor.session), words: FREEZE_FORM },
    });
  }

  private async again({ typed: { family, name }, error }: FailedForm<TypedFreeze>): Promise<FormAnswer> {
    const page = await this.page({ family }, name, formErrors(error, FREEZE_FORM.labels));
    return { to: designAddress(family), page };
  }
}
