import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { LotOverview } from '../lots/lot-overview.js';
import { Reassessor } from '../lots/reassessor.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { actNameText } from '../report/phrases/acts.js';
import { awaitingText } from '../report/phrases/earlier-version.js';
import { lotsBehindText } from '../report/phrases/lot-state.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { RESULT_SHEETS } from '../report/phrases/result-sheets.js';
import { TODAY } from '../report/phrases/today.js';
import { waitingSheets } from '../sheets/handed-sheets.js';
import { WaitingList } from '../signing/waiting-list.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { lotRows } from './lots-view.js';
import { Duties } from './today/duties.js';
import { inGroups } from './today/duty.js';
import { recoveredSince } from './today/recovered.js';
import { waitingLines } from './waiting-lines.js';

/** Lots on a page: more are turned over. */
const ON_A_PAGE = 100;

const LotsQuery = z.strictObject({
  from: z
    .string()
    .regex(/^[1-9]\d{0,6}$/, { error: 'number of a lot in the list, from 1' })
    .transform(Number)
    .default(1),
});
type LotsQuery = z.infer<typeof LotsQuery>;

/** The first screen, which says what to do today, and the list of all lots. */
@Controller()
export class TodayController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly overview: LotOverview,
    private readonly reassessor: Reassessor,
    private readonly waiting: WaitingList,
    private readonly accounts: Accounts,
    private readonly duties: Duties,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async today(): Promise<string> {
    const { person, session } = this.actor;
    const {
      clock,
      read: { events },
    } = this.store;
    const { values: lots, behind } = await this.overview.asking();
    const counts = await this.overview.counts();
    const open = lots.filter(({ closed }) => !closed);
    const waiting = await this.waiting.told();
    const roles = [...new Set(session.acting.map(({ role }) => role))];
    return this.pages.render('today', PAGE_TITLES.today, {
      awaiting: awaitingText(counts.awaiting),
      behind: lotsBehindText(Math.max(behind, waiting.behind)),
      recovered: recoveredSince(await events.ofTypes(['invitation-made']), clock.now()),
      troubles: this.reassessor.troubles,
      groups: inGroups(await this.duties.of({ person, roles, open, lots, waiting: waiting.values })),
      topics: TODAY.topics,
      others: [
        ...waitingLines(waiting.values.filter(({ who }) => who.length > 0 && !who.includes(person))).map((line) => ({
          ...line,
          act: actNameText(line.act),
        })),
        ...(await this.sheetsOfOthers(person)),
      ],
      open: lotRows(open.slice(0, ON_A_PAGE), waiting.values, await this.names()),
      moreOpen: Math.max(0, open.length - ON_A_PAGE),
      anyLot: counts.lots > 0,
    });
  }

  @Access('signed in')
  @Get('lots')
  @Header(...HTML)
  async lots(@Query({ schema: LotsQuery }) { from }: LotsQuery): Promise<string> {
    const { values: shown, behind } = await this.overview.page({ skip: from - 1, most: ON_A_PAGE });
    const waiting = await this.waiting.toldOfLots(shown.map(({ lot }) => lot));
    const { lots: total, awaiting } = await this.overview.counts();
    const next = from + ON_A_PAGE;
    return this.pages.render('lots', PAGE_TITLES.lots, {
      awaiting: awaitingText(awaiting),
      behind: lotsBehindText(Math.max(behind, waiting.behind)),
      lots: lotRows(shown, waiting.values, await this.names()),
      total,
      from,
      to: Math.min(total, next - 1),
      before: from > 1 ? Math.max(1, from - ON_A_PAGE) : null,
      next: next <= total ? next : null,
    });
  }

  /** Result sheets that somebody else has to type again: those of this person, and of whoever may type none. */
  private async sheetsOfOthers(person: string) {
    const sheets = await waitingSheets(this.store, await this.accounts.people());
    return sheets
      .filter(({ who }) => !who.includes(person))
      .map(({ lot, method, values, typedBy, at, who }) => ({
        title: RESULT_SHEETS.handed(method, values, typedBy, timeText(at)),
        act: TODAY.toType,
        lot,
        neededBy: null,
        who,
      }));
  }

  private async names(): Promise<ReadonlyMap<string, string>> {
    return new Map([...(await this.accounts.people())].map(([code, { name }]) => [code, name]));
  }
}
