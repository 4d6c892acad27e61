import { Controller, Get, Header, Param, Query, Res, StreamableFile } from '@nestjs/common';
import type { Response } from 'express';
import { z } from 'zod';
import { Day } from '../kinds/fields.js';
import { capabilityView } from '../report/capability-view.js';
import { trendAddress, trendCsvAddress } from '../report/page-addresses.js';
import { beyondText } from '../report/phrases/capability.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { studyView } from '../report/study-view.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { RowPlace, turned } from '../web/turned.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { FamilyPage } from './family-page.js';
import { FamilyTrend } from './family-trend.js';
import { ledByIn } from './led-by.js';
import { StatementsOnRecord } from './statements-on-record.js';
import { TrendAnswer, trendAnswer } from './trend-answer.js';
import { trendCsv } from './trend-csv.js';

const identifier = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);

const TrendQuery = z.strictObject({
  family: identifier('a family').describe('code of the family'),
  characteristic: identifier('a characteristic').describe('short name of the characteristic'),
  from: Day.optional().describe('first day of closing that the study looks at'),
  to: Day.optional().describe('last day of closing that the study looks at'),
});
type TrendQuery = z.infer<typeof TrendQuery>;

const FamilyQuery = z.strictObject({
  order: z.enum(['bound', 'signal']).default('bound'),
  row: RowPlace.describe('the first lot in the table, from the latest on'),
});
type FamilyQuery = z.infer<typeof FamilyQuery>;

/** Without either field it leads to the page that lists what there is to ask for. */
const TrendPageQuery = z
  .strictObject({ ...TrendQuery.partial().shape, order: z.enum(['built', 'tested']).optional(), row: RowPlace })
  .superRefine((query, context) => {
    const missing = (['family', 'characteristic'] as const).filter((field) => query[field] === undefined);
    if (missing.length !== 1) return;
    context.addIssue({ code: 'custom', path: missing, message: `a ${missing[0]}` });
  });
type TrendPageQuery = z.infer<typeof TrendPageQuery>;

const BUILDS_SHOWN = 100;

/** In build order as ever, and a page of them from the last ones on. */
function lastOf<T>(all: readonly T[], row: number) {
  const page = turned(all.toReversed(), row, BUILDS_SHOWN);
  return { ...page, rows: page.rows.toReversed() };
}

/** Characteristics of families over their builds. */
@Controller()
export class TrendController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly trend: FamilyTrend,
    private readonly familyPage: FamilyPage,
    private readonly statements: StatementsOnRecord,
  ) {}

  @Access('signed in')
  @Get('families')
  @Header(...HTML)
  async list(): Promise<string> {
    return this.pages.render('families', PAGE_TITLES.families, { families: await this.families() });
  }

  @Access('signed in')
  @Get('families/:family')
  @Header(...HTML)
  async family(
    @Param('family', NAMED) family: string,
    @Query({ schema: FamilyQuery }) { order, row }: FamilyQuery,
  ): Promise<string> {
    const view = await this.familyPage.view(family, order, row);
    return this.pages.render('family', PAGE_TITLES.familyOf(view.family.title), view);
  }

  @Access('signed in')
  @Get('trend')
  @Header(...HTML)
  async show(
    @Query({ schema: TrendPageQuery }) { family, characteristic, order, row, ...window }: TrendPageQuery,
    @Res({ passthrough: true }) response: Response,
  ): Promise<string | undefined> {
    if (family === undefined || characteristic === undefined) {
      response.redirect(301, '/families');
      return undefined;
    }
    const report = await this.trend.trend(characteristic, family, window);
    const capability = capabilityView(report.characteristic, report.capability);
    const isWhole = window.from === undefined && window.to === undefined;
    const ledBy = await ledByIn(this.store.read, report.studied?.study.chart.changes ?? []);
    const study = report.studied && studyView(report.studied.input, report.studied.study, order, ledBy, isWhole);
    const byLot = lastOf(report.lots, row);
    return this.pages.render('trend', PAGE_TITLES.trendOf(report.characteristic.title, family), {
      report,
      capability,
      study: study && { ...study, listed: lastOf(study.listed, row) },
      statements: await this.statements.of(family, characteristic),
      byLot: {
        ...byLot,
        beyond: byLot.rows.map((row) => beyondText(row, report.characteristic)),
      },
      here: trendAddress(family, characteristic),
      csv: trendCsvAddress(family, characteristic),
      earlierVersion: EARLIER_VERSION,
    });
  }

  @Access('signed in')
  @Get('trend.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(@Query({ schema: TrendQuery }) { family, characteristic, ...window }: TrendQuery): Promise<StreamableFile> {
    const bytes = Buffer.from(trendCsv(await this.trend.trend(characteristic, family, window)));
    const disposition = attachment(`trend-${family}-${characteristic}.csv`);
    return new StreamableFile(bytes, { type: 'text/csv; charset=utf-8', disposition, length: bytes.length });
  }

  @Access('signed in')
  @Operation({ summary: 'A characteristic of a family over its builds', answer: TrendAnswer })
  @FollowsFromRecords()
  @Get('api/v1/trend')
  async report(@Query({ schema: TrendQuery }) { family, characteristic, ...window }: TrendQuery) {
    return trendAnswer(await this.trend.trend(characteristic, family, window));
  }

  /** Each family with the characteristics of its current specifications. */
  private async families() {
    const specifications = (await this.store.read.entries.list('specification')).map((item) => item.body);
    return (await this.store.read.entries.list('family')).map(({ body }) => ({
      family: body,
      specifications: specifications.filter((item) => item.family === body.family),
    }));
  }
}
