import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import { Actor } from '../people/actor.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { READ_KINDS, READS } from '../report/phrases/reads.js';
import { currentLots } from '../store/lots-now.js';
import type { NotedRead } from '../store/read-log.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import type { Session } from '../web/identity.js';
import { asked } from '../web/input.js';
import { Pages } from '../web/pages.js';

const LINES_ON_PAGE = 200;
const CASES_IN_A_ROW = 12;

const Name = z.string().trim().max(200, 'at most 200 characters');
const ReadsQuery = z.strictObject({ thing: mayBeEmpty(Name), person: mayBeEmpty(Name) });
type ReadsQuery = z.infer<typeof ReadsQuery>;

/** Whether somebody is shown who read what. */
export const seesReads = ({ acting }: Session): boolean =>
  acting.some(({ role }) => role === 'auditor' || role === 'administrator');

/** Who read which case when: for those who look after people and after what they did. */
@Controller('audit/reads')
export class ReadsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async show(@Query(asked(ReadsQuery, 'mend the field and search again')) filter: ReadsQuery): Promise<string> {
    if (!seesReads(this.actor.session)) throw new AppError('REFUSED', READS.notYours);
    const casesOf = await this.casesByLot();
    const { thing, person } = filter;
    const found: NotedRead[] = [];
    for (const read of this.store.reads.newest()) {
      if (person !== undefined && read.person !== person) continue;
      if (thing !== undefined && !isOf(read, thing, casesOf)) continue;
      found.push(read);
      if (found.length > LINES_ON_PAGE) break;
    }
    return this.pages.render('reads', PAGE_TITLES.reads, {
      filter,
      reads: found.slice(0, LINES_ON_PAGE).map((read) => ({
        when: timeText(read.at),
        person: read.person,
        kind: READ_KINDS[read.kind],
        keyShown: read.kind === 'evidence' ? read.key.slice(0, 12) : read.key,
        cases: casesText(read, casesOf),
        page: read.page,
      })),
      isCut: found.length > LINES_ON_PAGE,
    });
  }

  /** Cases and serials of the implants of each lot, as it stands now. */
  private async casesByLot(): Promise<ReadonlyMap<string, LotOfCases>> {
    const lots = await currentLots(this.store.read);
    return new Map(
      lots.map(({ lot, implants }) => {
        return [lot, { cases: implants.map((one) => one.case), serials: implants.map(({ serial }) => serial) }];
      }),
    );
  }
}

interface LotOfCases {
  readonly cases: readonly string[];
  readonly serials: readonly string[];
}

/** Everything that an answer named, by its code: the lot of its pages or of what is signed, and what stood on it. */
const namesIn = ({ key, kind, shown = [] }: NotedRead): string[] => [
  kind === 'signing' ? key.replace(/^lot file (.*?)(?:#.*)?$/, '$1') : key,
  ...shown,
];

/** The cases, of lots those of their implants; so many and how many more. */
function casesText(read: NotedRead, lots: ReadonlyMap<string, LotOfCases>): string {
  const [key, ...shown] = namesIn(read);
  const cases = new Set([lots.get(key!)?.cases ?? [], shown.map((name) => lots.get(name)?.cases ?? name)].flat(2));
  return READS.cases([...cases].slice(0, CASES_IN_A_ROW), Math.max(0, cases.size - CASES_IN_A_ROW) + (read.more ?? 0));
}

function isOf(read: NotedRead, thing: string, lots: ReadonlyMap<string, LotOfCases>): boolean {
  if (read.key === thing || (read.kind === 'evidence' && thing.length >= 8 && read.key.startsWith(thing))) return true;
  return namesIn(read).some((name) => {
    if (name === thing) return true;
    const lot = lots.get(name);
    return lot !== undefined && (lot === lots.get(thing) || lot.cases.includes(thing) || lot.serials.includes(thing));
  });
}
