import { Controller, Get, Header, Param, Query, Redirect } from '@nestjs/common';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import type { AssessedLot } from '../lots/lot-assessor.js';
import type { LotLine } from '../lots/lot-line.js';
import { unitStatesOf } from '../lots/unit-decisions.js';
import { placesOfLot } from '../lots/unit-places.js';
import { Actor } from '../people/actor.js';
import { recordJobKey } from '../records/record-job.js';
import { lotSummaryView } from '../report/lot-summary-view.js';
import { LOT_PAGES, type LotPage, lotAddress } from '../report/page-addresses.js';
import { JOBS } from '../report/phrases/jobs.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { LotStandings } from '../signing/lot-standing.js';
import { StateActs } from '../signing/state-acts.js';
import { UNIT_ACTS } from '../signing/unit-acts.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { asked, NAMED } from '../web/input.js';
import { Jobs } from '../web/jobs.js';
import { Pages } from '../web/pages.js';
import { checksView } from './checks-view.js';
import { implantView } from './implant-view.js';
import { lotBuildView } from './lot-build-view.js';
import { lotFamilyView } from './lot-family-view.js';
import { type LotFrame, LotFrames } from './lot-frame.js';
import { lotMaterialsView } from './lot-materials-view.js';
import { lotPapersView, recordLines } from './lot-papers-view.js';
import { lotPlacesView } from './lot-places-view.js';
import { lotTestsView } from './lot-tests-view.js';
import { waitingLines } from './waiting-lines.js';

const WantedPage = z.strictObject({ page: z.enum(LOT_PAGES) });
type WantedPage = z.infer<typeof WantedPage>;

const WantedCharacteristic = z.strictObject({ characteristic: z.string().max(200).optional() });
type WantedCharacteristic = z.infer<typeof WantedCharacteristic>;

/** The pages of a lot, all under one head. */
@Controller('lots/:lot')
export class LotController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly frames: LotFrames,
    private readonly standings: LotStandings,
    private readonly stateActs: StateActs,
    private readonly jobs: Jobs,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  summary(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, 'summary', async (assessed, { line, waiting }) => ({
      summary: lotSummaryView(assessed, line.units),
      blockers: line.blockers,
      standing: await this.standings.of(lot, assessed.facts),
      waiting: waitingLines(waiting).map((one) => ({ ...one, mine: one.who.includes(this.actor.person) })),
      acts: await this.actsFor(line),
      places: lotPlacesView(await placesOfLot(this.store.read, assessed.facts.lot.body)),
    }));
  }

  /** Where the list of pages is a choice, as on a phone. */
  @Access('signed in')
  @Get('page')
  @Redirect('', 303)
  choose(
    @Param('lot', NAMED) lot: string,
    @Query(asked(WantedPage, 'choose one of the pages of the lot')) { page }: WantedPage,
  ): { url: string } {
    return { url: lotAddress(lot, page) };
  }

  @Access('signed in')
  @Get('build')
  @Header(...HTML)
  build(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, 'build', lotBuildView);
  }

  @Access('signed in')
  @Get('tests')
  @Header(...HTML)
  tests(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, 'tests', lotTestsView);
  }

  @Access('signed in')
  @Get('materials')
  @Header(...HTML)
  materials(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, 'materials', ({ facts }) => lotMaterialsView(facts));
  }

  @Access('signed in')
  @Get('checks')
  @Header(...HTML)
  checks(@Param('lot', NAMED) lot: string): Promise<string> {
    return this.page(lot, 'checks', (assessed) => ({ moments: checksView(assessed) }));
  }

  @Access('signed in')
  @Get('papers')
  @Header(...HTML)
  async papers(@Param('lot', NAMED) lot: string): Promise<string> {
    // Asked first: what ends meanwhile is among the records.
    const issuing = this.issuing(lot);
    const records = await this.store.read.records.ofLot(lot);
    return this.page(
      lot,
      'papers',
      async (assessed) => ({
        ...lotPapersView(assessed, records),
        standing: await this.standings.of(lot, assessed.facts),
        issuing,
      }),
      { records: recordLines(records), issuing },
    );
  }

  /** The record that is being made of this lot. */
  private issuing(lot: string) {
    const job = this.jobs.under(recordJobKey(lot));
    if (!job) return null;
    const { starter } = job.wanted;
    return {
      says: JOBS.issuing(starter.name, starter.person, timeText(job.askedAt.toISOString())),
      to: job.address,
      button: JOBS.seeHowFar,
    };
  }

  @Access('signed in')
  @Get('implants/:serial')
  @Header(...HTML)
  async implant(@Param('lot', NAMED) lot: string, @Param('serial', NAMED) serial: string): Promise<string> {
    return this.render('implant', PAGE_TITLES.implant(serial), await this.frames.of(lot, null), (assessed) =>
      implantView(assessed, serial),
    );
  }

  @Access('signed in')
  @Get('family')
  @Header(...HTML)
  async family(
    @Param('lot', NAMED) lot: string,
    @Query(asked(WantedCharacteristic, 'follow a link from the tests of the lot')) wanted: WantedCharacteristic,
  ): Promise<string> {
    return this.render('family', PAGE_TITLES.lotFamily(lot), await this.frames.of(lot, null), (assessed) =>
      lotFamilyView(assessed, wanted.characteristic),
    );
  }

  /** Acts on units that the person may do, and that some unit of the lot is in a state for. */
  private async actsFor({ lot, units }: LotLine): Promise<{ slug: string; title: string }[]> {
    const serials = units.map(({ serial }) => serial);
    const states = await unitStatesOf(this.store.read, lot, serials);
    const found: { slug: string; title: string }[] = [];
    for (const { slug, title, act, applies } of UNIT_ACTS) {
      if (!states.some(applies)) continue;
      if ((await this.stateActs.whyNot(act, this.actor.person)) === undefined) found.push({ slug, title });
    }
    return found;
  }

  private async page(
    lot: string,
    page: LotPage,
    view: (assessed: AssessedLot, frame: LotFrame) => object | Promise<object>,
    unassessed: object = {},
  ): Promise<string> {
    const frame = await this.frames.of(lot, page);
    return this.render(page, PAGE_TITLES.lotPage(lot, page), frame, view, unassessed);
  }

  private async render(
    template: string,
    title: string,
    frame: LotFrame,
    view: (assessed: AssessedLot, frame: LotFrame) => object | Promise<object>,
    unassessed: object = {},
  ): Promise<string> {
    const { head, line, assessed } = frame;
    if (!assessed) {
      const { body } = await this.store.read.entries.currentOrThrow('lot', line.lot);
      return this.pages.render('lot/not-assessed', title, { head, lot: line.lot, body, records: [], ...unassessed });
    }
    return this.pages.render(`lot/${template}`, title, { head, lot: line.lot, ...(await view(assessed, frame)) });
  }
}
