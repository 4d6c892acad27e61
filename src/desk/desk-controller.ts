import { Controller, Get, Header, Param } from '@nestjs/common';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { expiringWithin } from '../lots/expiring.js';
import { LotOverview } from '../lots/lot-overview.js';
import { Reassessor } from '../lots/reassessor.js';
import { Actor } from '../people/actor.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { LotStandings } from '../signing/lot-standing.js';
import { WaitingList } from '../signing/waiting-list.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { lastOf, lotsView, recoveredSince, waitingView } from './first-page.js';
import { lotPage } from './lot-page.js';

const EXPIRING_DAYS = 30;

/** The first screen, and one page for each lot. */
@Controller()
export class DeskController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly overview: LotOverview,
    private readonly current: CurrentAssessments,
    private readonly reassessor: Reassessor,
    private readonly waiting: WaitingList,
    private readonly standings: LotStandings,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async lots(): Promise<string> {
    const lines = await this.overview.list();
    const events = await this.store.read.events.ofTypes(['integrity-checked', 'backup-made', 'invitation-made']);
    return this.pages.render('lots', PAGE_TITLES.lots, {
      ...lotsView(lines),
      troubles: this.reassessor.troubles,
      waiting: waitingView(await this.waiting.all(), this.actor.person),
      expiring: await expiringWithin(this.store, EXPIRING_DAYS),
      integrity: lastOf(events, 'integrity-checked'),
      backup: lastOf(events, 'backup-made'),
      recovered: recoveredSince(events, this.store.clock.now()),
    });
  }

  @Access('signed in')
  @Get('lots/:lot')
  @Header(...HTML)
  async lot(@Param('lot', NAMED) lot: string): Promise<string> {
    const assessed = await this.current.of(lot);
    const line = await this.overview.of(lot);
    const records = await this.store.read.records.ofLot(lot);
    if (!assessed) {
      const { body } = await this.store.read.entries.currentOrThrow('lot', lot);
      return this.pages.render('lot-not-assessed', PAGE_TITLES.lot(lot), {
        lot: body,
        line,
        records,
        earlierVersion: line.ofEarlierVersion ? EARLIER_VERSION : null,
      });
    }
    const waiting = (await this.waiting.all()).filter((item) => item.lot === lot);
    return this.pages.render('lot', PAGE_TITLES.lot(lot), {
      ...lotPage(assessed, line, records),
      standing: await this.standings.of(lot, assessed.facts),
      waiting: waitingView(waiting, this.actor.person),
      outOfDate: line.outOfDate,
    });
  }
}
