import { Controller, Get, Header, Query } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import { timeText } from '../dossier/time-text.js';
import { documentStanding } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readRequest } from '../web/request-checks.js';
import { TraceSearch } from '../web/request-schemas.js';
import { Tracer } from './tracer.js';

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
  async trace(@Query() query: unknown): Promise<string> {
    const { id } = readRequest(TraceSearch, query);
    if (id === '') return this.pages.render('trace', 'Trace', { asked: '', matches: [] });
    const matches = [];
    for (const match of await this.matches(id)) {
      const { kind, key } = match.entry;
      const signed = match.signed?.map((act) => ({ ...act, at: timeText(act.at) })) ?? null;
      matches.push({ ...match, signed, revisions: await documentStanding(this.store, kind, key) });
    }
    return this.pages.render('trace', `Trace of ${id}`, { asked: id, matches, most: MOST_SIGNED });
  }

  /** Nothing found is an answer to a search, and the page says so beside the search box. */
  private async matches(id: string) {
    try {
      return (await this.tracer.trace(id)).matches;
    } catch (error) {
      if (error instanceof NotFoundError) return [];
      throw error;
    }
  }
}
