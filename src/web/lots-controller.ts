import { Controller, Get, Header, Param, Post, Query, Redirect, StreamableFile } from '@nestjs/common';
import type { Lot } from '../kinds/lot.js';
import { Store } from '../store/store.js';
import { LotAssessor } from '../workflow/lot-assessor.js';
import { LotOverview } from '../workflow/lot-overview.js';
import { RecordIssuer } from '../workflow/record-issuer.js';
import { Actor } from './actor.js';
import { HTML } from './html.js';
import { lotPage } from './lot-page.js';
import { Pages } from './pages.js';
import { readRequest } from './request-checks.js';
import { RecordQuery } from './request-schemas.js';

/** The first screen, and one page for each lot. */
@Controller()
export class LotsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly overview: LotOverview,
    private readonly assessor: LotAssessor,
    private readonly issuer: RecordIssuer,
    private readonly actor: Actor,
  ) {}

  @Get()
  @Header(...HTML)
  async lots(): Promise<string> {
    const lines = await this.overview.list();
    const open = lines.filter((line) => line.blockers.length > 0 || !line.assessed);
    return this.pages.render('lots', 'Lots', {
      total: lines.length,
      open: open.sort((a, b) => (a.neededBy ?? '9').localeCompare(b.neededBy ?? '9', 'en')),
      clear: lines.filter((line) => !open.includes(line)),
    });
  }

  @Get('lots/:lot')
  @Header(...HTML)
  async lot(@Param('lot') lot: string): Promise<string> {
    const assessed = await this.assessor.latest(lot);
    const line = (await this.overview.list()).find((item) => item.lot === lot);
    const records = await this.store.read.records(lot);
    if (!assessed) {
      const { body } = await this.store.read.currentOrThrow('lot', lot);
      return this.pages.render('lot-not-assessed', `Lot ${lot}`, { lot: body as Lot, line, records });
    }
    return this.pages.render('lot', `Lot ${lot}`, lotPage(assessed, line, records));
  }

  @Post('lots/:lot/assess')
  @Redirect()
  async assess(@Param('lot') lot: string) {
    await this.assessor.assess(lot, this.actor.name);
    return { url: `/lots/${encodeURIComponent(lot)}`, statusCode: 303 };
  }

  @Post('lots/:lot/records')
  @Redirect()
  async issue(@Param('lot') lot: string) {
    await this.issuer.issue(lot, this.actor.name);
    return { url: `/lots/${encodeURIComponent(lot)}#records`, statusCode: 303 };
  }

  @Get('lots/:lot/record.pdf')
  async record(@Param('lot') lot: string, @Query() query: unknown): Promise<StreamableFile> {
    const { revision } = readRequest(RecordQuery, query);
    const issued = await this.issuer.issued(lot, revision);
    return new StreamableFile(issued.pdf, {
      type: 'application/pdf',
      disposition: `inline; filename="${issued.number}-r${issued.revision}.pdf"`,
      length: issued.pdf.length,
    });
  }
}
