import path from 'node:path';
import { Body, Controller, Get, Header, Param } from '@nestjs/common';
import { z } from 'zod';
import { Actor } from '../people/actor.js';
import { exportAddress, lotAddress } from '../report/page-addresses.js';
import { EXPORT_PAGE } from '../report/phrases/export-page.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import type { FailedForm } from '../web/form-again.js';
import type { FormAnswer } from '../web/form-answer.js';
import { type FormError, formErrors } from '../web/form-errors.js';
import { PagePost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { filledIn, NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { TakesFiles, type Upload, Uploaded } from '../web/upload.js';
import { whyNotTakeIn } from './may-take-in.js';
import { PageSender } from './page-sender.js';
import { StagedJobs } from './staged-jobs.js';
import { UPLOAD_FILES, Uploads } from './uploads.js';

const ExportFields = z.strictObject({ profile: z.string().min(1).max(200) });
type ExportFields = z.infer<typeof ExportFields>;
/** What goes back into the form: a file has to be chosen again. */
const TypedExport = z.object({ profile: z.string().max(200).catch('') });
type TypedExport = z.infer<typeof TypedExport>;

/** The file of an instrument for one lot: read by the profile that is chosen, and shown before any of it is stored. */
@Controller('intake/export/:lot')
export class ExportController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly uploads: Uploads,
    private readonly work: StagedJobs,
    private readonly actor: Actor,
    private readonly sender: PageSender,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  show(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, { profile: '' }, []);
  }

  @Access('signed in')
  @TakesFiles(UPLOAD_FILES)
  @PagePost('', {
    typed: TypedExport,
    show: (controller: ExportController, failed) => controller.again(failed),
  })
  async take(
    @Param('lot', NAMED) lot: string,
    @Body(filledIn(ExportFields)) { profile }: ExportFields,
    @Uploaded() upload: Upload,
  ): Promise<string> {
    await this.store.read.entries.currentOrThrow('lot', lot);
    const sent = {
      gone: upload.gone,
      // The folder says whose it is, and by which profile it is read.
      async *files() {
        for await (const file of upload.files())
          yield { ...file, name: `exports/${lot}/${profile}/${path.posix.basename(file.name)}` };
      },
    };
    return this.work.check(await this.uploads.begin(sent, this.sender.now), this.sender.now);
  }

  private async again({ params, typed, error }: FailedForm<TypedExport>): Promise<FormAnswer> {
    const lot = params.lot!;
    return { to: exportAddress(lot), page: await this.page(lot, typed, formErrors(error, EXPORT_PAGE.labels)) };
  }

  private async page(lot: string, typed: TypedExport, errors: readonly FormError[]): Promise<string> {
    const { entries } = this.store.read;
    await entries.currentOrThrow('lot', lot);
    const profiles = (await entries.list('instrument-profile')).map(({ key, body }) => ({
      value: key,
      label: EXPORT_PAGE.profileOf(key, body.title),
    }));
    return this.pages.render('export', EXPORT_PAGE.title(lot), {
      ...{ lot, profiles, typed, errors, says: EXPORT_PAGE, why: whyNotTakeIn(this.actor.session) },
      ...{ to: exportAddress(lot), back: lotAddress(lot, 'tests') },
    });
  }
}
