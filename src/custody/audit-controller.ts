import fs from 'node:fs';
import { Controller, Get, Header, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { Day } from '../kinds/fields.js';
import { TRAIL_ACTS, type TrailFilter } from '../ledger/trail.js';
import { mayKeepAccounts } from '../people/accounts.js';
import { Actor } from '../people/actor.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { TODAY } from '../report/phrases/today.js';
import { actChoices } from '../report/trail-changes.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { EntryNumber, mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import { asked } from '../web/input.js';
import { Jobs } from '../web/jobs.js';
import { Pages } from '../web/pages.js';
import { AuditTrail, MOST_REPORT_LINES, type TrailExport } from './audit-trail.js';
import { trailLineView } from './audit-view.js';
import { seesReads } from './reads-controller.js';

const LINES_ON_PAGE = 50;
/** The page ends before the line that would bring more values onto it: a document that came in brings hundreds. */
const VALUES_ON_PAGE = 400;

const Name = z.string().trim().max(200, 'at most 200 characters');

const Filter = {
  thing: mayBeEmpty(Name),
  person: mayBeEmpty(Name),
  act: mayBeEmpty(z.enum(TRAIL_ACTS as [string, ...string[]], { error: 'an act of the list' })),
  from: mayBeEmpty(Day),
  to: mayBeEmpty(Day),
};
const FilterQuery = z.strictObject(Filter);
type FilterQuery = z.infer<typeof FilterQuery>;

const PageQuery = z.strictObject({
  ...Filter,
  before: mayBeEmpty(EntryNumber.transform(Number)),
});
type PageQuery = z.infer<typeof PageQuery>;

const REMEDY = 'mend the field and search again';

/** The audit trail, its exports, and what protects it. */
@Controller()
export class AuditController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly trail: AuditTrail,
    private readonly actor: Actor,
    private readonly jobs: Jobs,
  ) {}

  @Access('signed in')
  @Get('audit')
  @Header(...HTML)
  async show(@Query(asked(PageQuery, REMEDY)) { before, ...filter }: PageQuery): Promise<string> {
    const { lines, older } = await this.trail.page(filter, LINES_ON_PAGE, before, VALUES_ON_PAGE);
    const total = await this.store.read.ledger.size();
    return this.pages.render('audit', PAGE_TITLES.audit, {
      filter,
      acts: actChoices(),
      total,
      // How many a search finds is not known before it is walked through.
      fitsPaper: total <= MOST_REPORT_LINES || queryText(filter) !== '',
      mostOnPaper: MOST_REPORT_LINES,
      lines: lines.map(trailLineView),
      newest: before === undefined,
      newestQuery: queryText(filter),
      olderQuery: older === null ? null : queryText({ ...filter, before: String(older) }),
      exportQuery: queryText(filter),
      seesReads: seesReads(this.actor.session),
    });
  }

  @Access('signed in')
  @Get('audit.csv')
  async csv(@Query(asked(FilterQuery, REMEDY)) filter: FilterQuery): Promise<StreamableFile> {
    return given(await this.trail.exportCsv(filter, this.actor.name), 'text/csv; charset=utf-8');
  }

  @Access('signed in')
  @Get('audit.pdf')
  async pdf(@Query(asked(FilterQuery, REMEDY)) filter: FilterQuery): Promise<StreamableFile> {
    return given(await this.trail.exportPdf(filter, this.actor.name), 'application/pdf');
  }

  @Access('signed in')
  @Get('protection')
  @Header(...HTML)
  async protection(): Promise<string> {
    const { session } = this.actor;
    const origin = await this.store.proofs.origin();
    // Without a signature: the page is there also while the key is lost or locked.
    const size = await this.store.read.ledger.size();
    const root = await this.store.read.ledger.root(size);
    return this.pages.render('protection', PAGE_TITLES.protection, {
      origin,
      size,
      root,
      fingerprint: this.store.key.fingerprint,
      checked: await this.lastCheck(),
      mayCheck: mayKeepAccounts(session.person, session.acting).may,
      checking: this.jobs.under('integrity')?.address ?? null,
    });
  }

  private async lastCheck(): Promise<string> {
    const last = (await this.store.read.events.ofTypes(['integrity-checked'])).at(-1);
    if (last?.event.type !== 'integrity-checked') return TODAY.noIntegrity;
    return TODAY.integrity(timeText(last.at), last.event.files, last.event.faultCount);
  }
}

function queryText(filter: TrailFilter & { readonly before?: string }): string {
  const asked = Object.entries(filter).filter((field): field is [string, string] => Boolean(field[1]));
  return asked.length === 0 ? '' : `?${new URLSearchParams(asked)}`;
}

/** Sends a file that was written for this request, and removes it: the open file stays readable to its end. */
function given({ file, name, sha256 }: TrailExport, type: string): StreamableFile {
  const handle = fs.openSync(file, 'r');
  fs.rmSync(file);
  return new StreamableFile(fs.createReadStream(file, { fd: handle }), {
    type,
    disposition: attachment(name.replace('.', `-${sha256.slice(0, 12)}.`)),
    length: fs.fstatSync(handle).size,
  });
}
