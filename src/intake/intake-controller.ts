import { Body, Controller, Get, Header, HttpCode, Param, Post } from '@nestjs/common';
import { BadInputError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import { Actor } from '../people/actor.js';
import { capital } from '../report/phrases/capital.js';
import { INTAKE_PAGE } from '../report/phrases/intake-page.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { TakesFiles, type Upload, Uploaded } from '../web/upload.js';
import { IntakeAnswer, IntakeFields } from './intake-answer.js';
import type { IntakeReport } from './intake-report.js';
import { intakeWords } from './intake-words.js';
import { KeptReports } from './kept-reports.js';
import { type Sender, whyNotTakeIn } from './may-take-in.js';
import { Uploads } from './uploads.js';

/** The body holds names and boundaries beside the files. */
const FILES = { field: 'files', mostBytes: MOST.uploadBytes + (64 << 20) };

/** Folders, files and ZIPs that come by the browser or from a program. */
@Controller()
export class IntakeController {
  constructor(
    private readonly pages: Pages,
    private readonly uploads: Uploads,
    private readonly reports: KeptReports,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('intake')
  @Header(...HTML)
  show(): string {
    return this.page({}, []);
  }

  @Access('signed in')
  @TakesFiles(FILES)
  @PagePost('intake', {
    typed: IntakeFields,
    show: (controller: IntakeController, failed) => controller.again(failed),
  })
  async take(@Body(filledIn(IntakeFields)) { check }: IntakeFields, @Uploaded() upload: Upload): Promise<string> {
    const report = await this.uploads.take(upload, this.sender, check !== undefined);
    return `/intake/${this.reports.keep(this.actor.person, report)}`;
  }

  @Access('signed in')
  @Get('intake/:report')
  @Header(...HTML)
  done(@Param('report', NAMED) name: string): string {
    const report = this.reports.of(this.actor.person, name);
    const { says, documents, results, logs, notKept } = intakeWords(report);
    return this.pages.render('intake-done', report.stored ? PAGE_TITLES.takenIn : PAGE_TITLES.checked, {
      says: says ?? INTAKE_PAGE.stored,
      documents: documents.map((text, index) => ({ text, key: report.documents[index]!.key })),
      others: [...results, ...logs],
      notKept,
      lots: report.stored ? report.lots : [],
    });
  }

  @Access('signed in')
  @TakesFiles(FILES)
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
    return this.uploads.take(upload, this.sender, check !== undefined);
  }

  private get sender(): Sender {
    const { person, acting } = this.actor.session;
    return { person, acting, actor: this.actor.name };
  }

  private again({ typed, error }: FailedForm<IntakeFields>): FormAnswer {
    return { to: '/intake', page: this.page(typed, errorsOf(error), error) };
  }

  private page(typed: IntakeFields, errors: readonly FormError[], error?: unknown): string {
    return this.pages.render('intake', PAGE_TITLES.intake, {
      why: whyNotTakeIn(this.actor.session),
      check: typed.check !== undefined,
      limits: INTAKE_PAGE.limits(MOST),
      errors,
      ...problemsOf(error),
    });
  }
}

/** More than anybody mends before sending again. */
const MOST_SHOWN = 200;

function problemsOf(error: unknown) {
  const problems = error instanceof BadInputError ? error.problems : [];
  return { problems: problems.slice(0, MOST_SHOWN), more: Math.max(0, problems.length - MOST_SHOWN) };
}

/** Of files the page shows each problem in a table: here it is told how many there are, and what was stored before. */
function errorsOf(error: unknown): FormError[] {
  if (!(error instanceof BadInputError)) return formErrors(error, {});
  return [{ field: 'problems', says: capital(INTAKE_PAGE.wrong(error.problems.length, error.stored ?? [])) }];
}
