import { Body, Controller, Get, Header, Param, Res } from '@nestjs/common';
import type { Response } from 'express';
import { z } from 'zod';
import { MOST } from '../base/limits.js';
import { Actor } from '../people/actor.js';
import { INTAKE_PAGE } from '../report/phrases/intake-page.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access } from '../web/access.js';
import type { FormAnswer } from '../web/form-answer.js';
import { FormPost, PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { asked, filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { TakesFiles, type Upload, Uploaded } from '../web/upload.js';
import { IntakeFields } from './intake-answer.js';
import { KeptReports } from './kept-reports.js';
import { whyNotTakeIn } from './may-take-in.js';
import { PageSender } from './page-sender.js';
import { keptReportAddress, StagedJobs, stagedAddress } from './staged-jobs.js';
import { errorsOf, problemsOf, stagedView } from './staged-view.js';
import { Staging } from './staging.js';
import { UPLOAD_FILES, Uploads } from './uploads.js';

const Shown = z.strictObject({
  version: z
    .string()
    .regex(/^\d{1,9}$/)
    .transform(Number),
});
type Shown = z.infer<typeof Shown>;
const Nothing = z.strictObject({});
type Nothing = z.infer<typeof Nothing>;

/** What somebody sent by the browser and did not store yet: what is wrong with it, or what would be stored. */
@Controller('intake/staged/:folder')
export class StagedController {
  constructor(
    private readonly pages: Pages,
    private readonly staging: Staging,
    private readonly uploads: Uploads,
    private readonly work: StagedJobs,
    private readonly reports: KeptReports,
    private readonly actor: Actor,
    private readonly sender: PageSender,
  ) {}

  /** Leads on where it is being checked or stored, or was stored. */
  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(@Param('folder', NAMED) name: string, @Res({ passthrough: true }) response: Response): string {
    const to = this.wasStored(name) ?? this.work.under(this.folder(name))?.address;
    if (to === undefined) return this.page(name);
    response.status(303).location(to);
    return '';
  }

  /** Adds files to it, and checks all of it again. */
  @Access('signed in')
  @TakesFiles(UPLOAD_FILES)
  @PagePost('', {
    typed: IntakeFields,
    show: (controller: StagedController, { params, error }) => controller.again(params.folder!, error),
  })
  async add(
    @Param('folder', NAMED) name: string,
    @Body(filledIn(IntakeFields)) _fields: IntakeFields,
    @Uploaded() upload: Upload,
  ): Promise<string> {
    const folder = this.folder(name);
    await this.uploads.addTo(folder, upload, this.sender.now);
    return this.work.check(folder, this.sender.now);
  }

  @Access('signed in')
  @PagePost('check')
  async check(@Param('folder', NAMED) name: string, @Body(filledIn(Nothing)) _nothing: Nothing): Promise<string> {
    return this.wasStored(name) ?? this.work.check(this.folder(name), this.sender.now);
  }

  @Access('signed in')
  @FormPost('store', {
    typed: z.looseObject({}),
    show: (controller: StagedController, { params, error }) => controller.again(params.folder!, error),
  })
  async store(
    @Param('folder', NAMED) name: string,
    @Body(asked(Shown, 'open the page again and send its form')) { version }: Shown,
  ): Promise<string> {
    return this.wasStored(name) ?? this.work.storeShown(this.folder(name), this.sender.now, version);
  }

  @Access('signed in')
  @PagePost('leave')
  async leave(@Param('folder', NAMED) name: string, @Body(filledIn(Nothing)) _nothing: Nothing): Promise<string> {
    await this.work.drop(this.folder(name));
    return '/intake';
  }

  private folder(name: string) {
    return this.staging.of(this.actor.person, name);
  }

  private wasStored(name: string): string | undefined {
    return this.reports.has(this.actor.person, name) ? keptReportAddress(name) : undefined;
  }

  private again(name: string, error: unknown): FormAnswer {
    const errors = errorsOf(error);
    return { to: stagedAddress(name), page: this.page(name, { errors, ...problemsOf(error) }) };
  }

  private page(name: string, wrong: object = {}): string {
    const folder = this.folder(name);
    const view = stagedView(folder);
    return this.pages.render('staged', view.things > 0 ? PAGE_TITLES.checkBeforeStoring : PAGE_TITLES.sent, {
      why: whyNotTakeIn(this.actor.session),
      limits: INTAKE_PAGE.limits(MOST),
      pieceBytes: MOST.pieceBytes,
      ...view,
      ...wrong,
    });
  }
}
