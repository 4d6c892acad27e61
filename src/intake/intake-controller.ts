import { Body, Controller, Get, Header, HttpCode, Post } from '@nestjs/common';
import { MOST } from '../base/limits.js';
import { timeText } from '../dossier/time-text.js';
import { Actor } from '../people/actor.js';
import { INTAKE_PAGE } from '../report/phrases/intake-page.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access, TakesTokens } from '../web/access.js';
import type { FormAnswer } from '../web/form-answer.js';
import type { FormError } from '../web/form-errors.js';
import { PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { TakesFiles, type Upload, Uploaded } from '../web/upload.js';
import { IntakeAnswer, IntakeFields } from './intake-answer.js';
import type { IntakeReport } from './intake-report.js';
import { KeptReports } from './kept-reports.js';
import { whyNotTakeIn } from './may-take-in.js';
import { PageSender } from './page-sender.js';
import { keptReportAddress, StagedJobs, stagedAddress } from './staged-jobs.js';
import { errorsOf, problemsOf } from './staged-view.js';
import { Staging } from './staging.js';
import { UPLOAD_FILES, Uploads } from './uploads.js';

/** Uploads that a person stored, as the page lists them. */
const LATELY = 5;

/** Folders, files and ZIPs that come by the browser or from a program. */
@Controller()
export class IntakeController {
  constructor(
    private readonly pages: Pages,
    private readonly uploads: Uploads,
    private readonly staging: Staging,
    private readonly work: StagedJobs,
    private readonly reports: KeptReports,
    private readonly actor: Actor,
    private readonly sender: PageSender,
  ) {}

  @Access('signed in')
  @Get('intake')
  @Header(...HTML)
  show(): string {
    return this.page([]);
  }

  @Access('signed in')
  @TakesFiles(UPLOAD_FILES)
  @PagePost('intake', {
    typed: IntakeFields,
    show: (controller: IntakeController, { error }) => controller.again(error),
  })
  async take(@Body(filledIn(IntakeFields)) _fields: IntakeFields, @Uploaded() upload: Upload): Promise<string> {
    const folder = await this.uploads.begin(upload, this.sender.now);
    return this.work.check(folder, this.sender.now);
  }

  @Access('signed in')
  @TakesTokens()
  @TakesFiles(UPLOAD_FILES)
  @Operation({
    summary: 'Take in a folder, files or one ZIP, each file under its path in the folder: all of it, or nothing',
    answer: IntakeAnswer,
  })
  @Post('api/v1/intake')
  @HttpCode(200)
  takeFromProgram(
    @Body({ schema: IntakeFields }) { check }: IntakeFields,
    @Uploaded() upload: Upload,
  ): Promise<IntakeReport> {
    return this.uploads.take(upload, this.sender.now, check !== undefined);
  }

  private again(error: unknown): FormAnswer {
    return { to: '/intake', page: this.page(errorsOf(error), error) };
  }

  private page(errors: readonly FormError[], error?: unknown): string {
    const { person } = this.actor;
    return this.pages.render('intake', PAGE_TITLES.intake, {
      why: whyNotTakeIn(this.actor.session),
      limits: INTAKE_PAGE.limits(MOST),
      pieceBytes: MOST.pieceBytes,
      waiting: this.staging.ofPerson(person).map((folder) => ({
        to: stagedAddress(folder.name),
        says: INTAKE_PAGE.sent(folder.count, folder.bytes, timeText(folder.begunAt)),
      })),
      stored: this.reports
        .ofPerson(person)
        .slice(0, LATELY)
        .map((name) => ({
          to: keptReportAddress(name),
          says: INTAKE_PAGE.storedLately(this.reports.of(person, name)),
        })),
      errors,
      ...problemsOf(error),
    });
  }
}
