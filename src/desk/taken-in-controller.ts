import { Controller, Get, Header, Param } from '@nestjs/common';
import type { IntakeReport } from '../intake/intake-report.js';
import { intakeWords } from '../intake/intake-words.js';
import { KeptReports } from '../intake/kept-reports.js';
import { Accounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { INTAKE_PAGE } from '../report/phrases/intake-page.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { thingFrom } from '../signing/thing.js';
import { type Waiting, WaitingList } from '../signing/waiting-list.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { waitingLines } from './waiting-lines.js';

/** What was taken in by a page, and what now waits for whom. */
@Controller('intake/:report')
export class TakenInController {
  constructor(
    private readonly pages: Pages,
    private readonly reports: KeptReports,
    private readonly waiting: WaitingList,
    private readonly accounts: Accounts,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async done(@Param('report', NAMED) name: string): Promise<string> {
    const { person } = this.actor;
    const report = this.reports.of(person, name);
    const { says, documents, results, logs, notKept } = intakeWords(report);
    return this.pages.render('intake-done', report.stored ? PAGE_TITLES.takenIn : PAGE_TITLES.checked, {
      says: says ?? INTAKE_PAGE.stored,
      documents: documents.map((text, index) => ({ text, key: report.documents[index]!.key })),
      others: [...results, ...logs],
      notKept,
      lots: report.stored ? report.lots : [],
      waiting: report.stored ? await this.nowWaits(report) : [],
    });
  }

  private async nowWaits(report: IntakeReport) {
    const names = new Map([...(await this.accounts.people())].map(([code, { name }]) => [code, name]));
    const items = (await this.waiting.all()).filter((item) => isOf(report, item));
    return waitingLines(items).map((line) => ({
      ...line,
      isOwn: line.who.includes(this.actor.person),
      who: line.who.map((code) => INTAKE_PAGE.person(names.get(code), code)),
    }));
  }
}

/** Whether a signature is of something that was stored. */
function isOf({ documents, lots }: IntakeReport, { thing, lot }: Waiting): boolean {
  const { kind, key } = thingFrom(thing);
  if (lot !== null) return lots.includes(lot);
  return documents.some((document) => document.key === key && (document.kind === kind || kind === 'certificate'));
}
