import { Controller, Get, Header, Param, Query } from '@nestjs/common';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { powderText } from '../report/phrases/powder.js';
import { documentStanding } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { TraceAnswer } from './trace-answer.js';
import { shortKey, type TraceReport, Tracer } from './tracer.js';

/** The search box may be sent empty. */
const TraceSearch = z.strictObject({ id: z.string().trim().max(200).default('') });
type TraceSearch = z.infer<typeof TraceSearch>;

const TraceQuery = z.strictObject({
  direction: z.enum(['back', 'forward']).optional().describe('only what it came from, or only what came from it'),
});
type TraceQuery = z.infer<typeof TraceQuery>;

/** More statements of one person than anybody reads on a page. */
const MOST_SIGNED = 200;

/** Where something came from and where it went: the page behind the search box, and the same for programs. */
@Controller()
export class TraceController {
  constructor(
    private readonly pages: Pages,
    private readonly tracer: Tracer,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get('trace')
  @Header(...HTML)
  async trace(@Query({ schema: TraceSearch }) { id }: TraceSearch): Promise<string> {
    if (id === '') return this.pages.render('trace', PAGE_TITLES.trace, { asked: '', matches: [] });
    const matches = [];
    for (const match of await this.tracer.matches(id)) {
      const { kind, key } = match.entry;
      const signed = match.signed?.map((act) => ({ ...act, at: timeText(act.at) })) ?? null;
      const entered = match.entered?.map(({ at, what }) => ({ at: timeText(at), what })) ?? null;
      const powder = match.powder.map(powderText);
      matches.push({ ...match, powder, signed, entered, revisions: await documentStanding(this.store, kind, key) });
    }
    return this.pages.render('trace', PAGE_TITLES.traceOf(id), { asked: id, matches, most: MOST_SIGNED, shortKey });
  }

  @Access('signed in')
  @Operation({ summary: 'Where something came from and where it went', answer: TraceAnswer })
  @Get('api/v1/trace/:id')
  report(
    @Param('id', NAMED) id: string,
    @Query({ schema: TraceQuery }) { direction }: TraceQuery,
  ): Promise<TraceReport> {
    return this.tracer.trace(id, { back: direction === 'back', forward: direction === 'forward' });
  }
}
