import { Controller, Get, Header, HttpCode, Param, Post } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import type { Lot } from '../kinds/lot.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { expiringWithin } from '../lots/expiring.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { LotOverview } from '../lots/lot-overview.js';
import { Reassessor } from '../lots/reassessor.js';
import { Actor } from '../people/actor.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { LotStandings } from '../signing/lot-standing.js';
import { WaitingList } from '../signing/waiting-list.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { FormPost } from '../web/forms.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { lastOf, lotsView, waitingView } from './first-page.js';
import { LotAnswer, LotsAnswer, lotAnswer } from './lot-answers.js';
import { lotPage } from './lot-page.js';

const EXPIRING_DAYS = 30;

/** The first screen, one page for each lot, and the same for programs. */
@Controller()
export class LotsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly overview: LotOverview,
    private readonly current: CurrentAssessments,
    private readonly assessor: LotAssessor,
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
  @Operation({ summary: 'Lots with the verdict of each implant and what blocks it', answer: LotsAnswer })
  @Get('api/v1/lots')
  async list() {
    return { lots: await this.overview.list() };
  }

  @Access('signed in')
  @Operation({ summary: 'The latest frozen lot file, assessed', answer: LotAnswer })
  @Get('api/v1/lots/:lot')
  async one(@Param('lot', NAMED) lot: string) {
    const assessed = await this.current.of(lot);
    if (!assessed) throw new NotFoundError('assessment of lot', lot);
    return lotAnswer(lot, assessed);
  }

  @Access('signed in')
  @Operation({ summary: 'Freeze the lot as it stands and assess it', answer: LotAnswer })
  @Post('api/v1/lots/:lot/assess')
  @HttpCode(200)
  async assessAndTell(@Param('lot', NAMED) lot: string) {
    return lotAnswer(lot, await this.assessor.assess(lot, this.actor.name));
  }
}
