import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { documentStanding } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { Tracer } from './tracer.js';

/** The search box may be sent empty. */
const TraceSearch = z.strictObject({ id: z.string().trim().max(200).default('') });
type TraceSearch = z.infer<typeof TraceSearch>;

/** More statements of one person than anybody reads on a page. */
const MOST_SIGNED = 200;

/** Where something came from and where it went: the page behind the search box. */
@Controller('trace')
export class TraceController {
  constructor(
    private readonly pages: Pages,
    private readonly tracer: Tracer,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async trace(@Query({ schema: TraceSearch }) { id }: TraceSearch): Promise<string> {
    if (id === '') return this.pages.render('trace', 'Trace', { asked: '', matches: [] });
    const matches = [];
    for (const match of await this.tracer.matches(id)) {
      const { kind, key } = match.entry;
      const signed = match.signed?.map((act) => ({ ...act, at: timeText(act.at) })) ?? null;
      matches.push({ ...match, signed, revisions: await documentStanding(this.store, kind, key) });
    }
    return this.pages.render('trace', `Trace of ${id}`, { asked: id, matches, most: MOST_SIGNED });
  }
}
