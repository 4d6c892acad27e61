import { Controller, Get, Header, Param, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import type { Lot } from '../kinds/lot.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { expiringWithin } from '../lots/expiring.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { LotOverview } from '../lots/lot-overview.js';
import { Reassessor } from '../lots/reassessor.js';
import { Actor } from '../people/actor.js';
import { RecordIssuer } from '../records/record-issuer.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { LotStandings } from '../signing/lot-standing.js';
import { WaitingList } from '../signing/waiting-list.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { lastOf, lotsView, waitingView } from './first-page.js';
import { lotPage } from './lot-page.js';

const EXPIRING_DAYS = 30;

const RecordQuery = z.strictObject({
  revision: z
    .string()
    .regex(/^[1-9]\d{0,8}$/, { error: 'a revision number, from 1' })
    .transform(Number)
    .optional(),
});
type RecordQuery = z.infer<typeof RecordQuery>;

/** The first screen, and one page for each lot. */
@Controller()
export class LotsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly overview: LotOverview,
    private readonly current: CurrentAssessments,
    private readonly assessor: LotAssessor,
    private readonly reassessor: Reassessor,
    private readonly issuer: RecordIssuer,
    private readonly waiting: WaitingList,
    private readonly standings: LotStandings,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async lots(): Promise<string> {
    const lines = await this.overview.list();
    const events = await this.store.read.eventsOfTypes(['integrity-checked', 'backup-made']);
    return this.pages.render('lots', 'Lots', {
      ...lotsView(lines),
      troubles: this.reassessor.troubles,
      waiting: waitingView(await this.waiting.all(), this.actor.person),
      expiring: await expiringWithin(this.store, EXPIRING_DAYS),
      integrity: lastOf(events, 'integrity-checked'),
      backup: lastOf(events, 'backup-made'),
    });
  }

  @Access('signed in')
  @Get('lots/:lot')
  @Header(...HTML)
  async lot(@Param('lot', NAMED) lot: string): Promise<string> {
    const assessed = await this.current.of(lot);
    const line = await this.overview.of(lot);
    const records = await this.store.read.records(lot);
    if (!assessed) {
      const { body } = await this.store.read.currentOrThrow('lot', lot);
      return this.pages.render('lot-not-assessed', `Lot ${lot}`, {
        lot: body as Lot,
        line,
        records,
        earlierVersion: line.ofEarlierVersion ? EARLIER_VERSION : null,
      });
    }
    const waiting = (await this.waiting.all()).filter((item) => item.lot === lot);
    return this.pages.render('lot', `Lot ${lot}`, {
      ...lotPage(assessed, line, records),
      standing: await this.standings.of(lot, assessed.facts),
      waiting: waitingView(waiting, this.actor.person),
      outOfDate: line?.outOfDate ?? false,
    });
  }

  @Access('signed in')
  @FormPost('lots/:lot/assess')
  async assess(@Param('lot', NAMED) lot: string): Promise<string> {
    await this.assessor.freeze(lot, this.actor.name);
    return `/lots/${encodeURIComponent(lot)}`;
  }

  @Access('signed in')
  @FormPost('lots/:lot/records')
  async issue(@Param('lot', NAMED) lot: string): Promise<string> {
    await this.issuer.issue(lot, this.actor.name);
    return `/lots/${encodeURIComponent(lot)}#records`;
  }

  @Access('signed in')
  @Get('lots/:lot/record.pdf')
  async record(
    @Param('lot', NAMED) lot: string,
    @Query({ schema: RecordQuery }) { revision }: RecordQuery,
  ): Promise<StreamableFile> {
    const issued = await this.issuer.issued(lot, revision);
    return new StreamableFile(issued.pdf, {
      type: 'application/pdf',
      disposition: `inline; filename="${issued.number}-r${issued.revision}.pdf"`,
      length: issued.pdf.length,
    });
  }
}
