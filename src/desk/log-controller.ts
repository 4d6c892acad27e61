import { Controller, Get, Header, Param, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { LogRescans } from '../intake/log-rescans.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { mayBeEmpty } from '../web/fields.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { logPage } from './log-page.js';
import { rowsFile, rowsPage } from './log-rows.js';

const moment = z.iso.datetime({
  offset: true,
  error: 'a date and time with offset, such as 2026-03-02T08:15:00+01:00',
});

const LogQuery = z.strictObject({
  channel: mayBeEmpty(z.string().max(60)),
  by: z.enum(['time', 'layer']).default('time'),
});
type LogQuery = z.infer<typeof LogQuery>;

const RowsQuery = z.strictObject({
  from: mayBeEmpty(moment),
  to: mayBeEmpty(moment),
  file: z
    .string()
    .regex(/^[1-9]\d?$/, { error: 'number of a file, from 1' })
    .transform(Number)
    .default(1),
});
type RowsQuery = z.infer<typeof RowsQuery>;

/** The log of a build: pictures, findings, how a scan goes on, and raw rows. */
@Controller('lots/:lot/logs/:build')
export class LogController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly assessor: LotAssessor,
    private readonly rescans: LogRescans,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async log(
    @Param('lot', NAMED) lot: string,
    @Param('build', NAMED) build: string,
    @Query({ schema: LogQuery }) question: LogQuery,
  ): Promise<string> {
    const facts = await this.assessor.facts(lot);
    const jobs = await this.store.read.scanJobs.ofBuild(lot, build);
    return this.pages.render('log', PAGE_TITLES.log(build), logPage(facts, build, question, jobs));
  }

  @Access('signed in')
  @Get('rows')
  @Header(...HTML)
  async rows(
    @Param('lot', NAMED) lot: string,
    @Param('build', NAMED) build: string,
    @Query({ schema: RowsQuery }) question: RowsQuery,
  ): Promise<string> {
    const facts = await this.assessor.facts(lot);
    const view = await rowsPage(facts, build, question, this.store);
    return this.pages.render('log-rows', PAGE_TITLES.rawRows(build), view);
  }

  @Access('signed in')
  @Get('rows/file')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async rowsFile(
    @Param('lot', NAMED) lot: string,
    @Param('build', NAMED) build: string,
    @Query({ schema: RowsQuery }) question: RowsQuery,
  ) {
    const { bytes, fileName } = await rowsFile(await this.assessor.facts(lot), build, question, this.store);
    return new StreamableFile(bytes, {
      type: 'application/octet-stream',
      disposition: attachment(fileName),
      length: bytes.length,
    });
  }

  @Access('signed in')
  @FormPost('scan')
  async scan(@Param('lot', NAMED) lot: string, @Param('build', NAMED) build: string): Promise<string> {
    await this.rescans.ask(lot, build);
    return `${pathOf(lot, build)}#scans`;
  }

  @Access('signed in')
  @FormPost('scans/:job/cancel')
  async cancel(
    @Param('lot', NAMED) lot: string,
    @Param('build', NAMED) build: string,
    @Param('job', NAMED) id: string,
  ): Promise<string> {
    const job = /^\d{1,9}$/.test(id) ? await this.store.read.scanJobs.byId(Number(id)) : null;
    if (job === null || job.lot !== lot || job.build !== build) throw new NotFoundError('scan', id);
    await this.store.scanJobs.cancel(job.id);
    return `${pathOf(lot, build)}#scans`;
  }
}

const pathOf = (lot: string, build: string): string =>
  `/lots/${encodeURIComponent(lot)}/logs/${encodeURIComponent(build)}`;
