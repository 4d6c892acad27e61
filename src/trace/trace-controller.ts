import { Controller, Get, Header, Param, Query, Redirect, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { kindNamed } from '../kinds/catalogue.js';
import { Moment } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { findAddress } from '../report/page-addresses.js';
import { CANNOT_KNOW } from '../report/phrases/cannot-know.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { kindText } from '../report/phrases/kinds.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { powderText } from '../report/phrases/powder.js';
import { documentStanding } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { answerFile } from './answer-file.js';
import { AnswerIssuer } from './answer-issuer.js';
import { pathPicture } from './path-picture.js';
import { TraceAnswer } from './trace-answer.js';
import { traceCsv } from './trace-csv.js';
import { shortKey, type TraceReport } from './traced.js';
import { Tracer } from './tracer.js';

const OptionalMoment = mayBeEmpty(Moment);

/** The search box may be sent empty. */
const TraceSearch = z.strictObject({
  id: z.string().trim().max(200).default(''),
  from: OptionalMoment,
  to: OptionalMoment,
  asOf: OptionalMoment,
});
type TraceSearch = z.infer<typeof TraceSearch>;

const TraceQuery = z.strictObject({
  direction: z.enum(['back', 'forward']).optional().describe('only what it came from, or only what came from it'),
  asOf: z.iso
    .datetime({ offset: true })
    .optional()
    .describe('from what was on record at this moment; verdicts are then null'),
  from: z.iso.datetime({ offset: true }).optional().describe('only what was used from this moment on'),
  to: z.iso.datetime({ offset: true }).optional().describe('only what was used up to this moment'),
});
type TraceQuery = z.infer<typeof TraceQuery>;

/** More statements of one person than anybody reads on a page. */
const MOST_SIGNED = 200;

/** Pictures of the way, with their titles. */
const PATHS = [
  ['back', TRACE_LINES.back],
  ['forward', TRACE_LINES.forward],
] as const;

/** What people look for first among what was reached. */
const TOLD_APART: readonly (readonly [title: string, kinds: readonly string[]])[] = [
  [TRACE_LINES.people, ['person']],
  [TRACE_LINES.instruments, ['instrument']],
  [TRACE_LINES.results, ['result', 'result-set']],
];

/** As many as somebody reads on a page, and how many there are. */
const firstOf = <Node>(nodes: readonly Node[]) => ({ nodes: nodes.slice(0, MOST_SIGNED), count: nodes.length });

/** Where something came from and where it went: the page that finds any identifier, and the same for programs. */
@Controller()
export class TraceController {
  constructor(
    private readonly pages: Pages,
    private readonly tracer: Tracer,
    private readonly store: Store,
    private readonly answers: AnswerIssuer,
    private readonly actor: Actor,
  ) {}

  /** As the page was called before. */
  @Access('signed in')
  @Get('trace')
  @Redirect('', 301)
  before(@Query({ schema: TraceSearch }) { id }: TraceSearch): { url: string } {
    return { url: id === '' ? '/find' : findAddress(id) };
  }

  @Access('signed in')
  @Get('find')
  @Header(...HTML)
  async find(@Query({ schema: TraceSearch }) { id, from, to, asOf }: TraceSearch): Promise<string> {
    if (id === '')
      return this.pages.render('find', PAGE_TITLES.find, {
        asked: '',
        matches: [],
        near: [],
        candidates: [],
        asOf: '',
        narrowedTo: { from: '', to: '', asOf: '' },
        cannotKnow: [],
      });
    const matches = [];
    const found = await this.tracer.search(id, { from, to, asOf });
    for (const match of found.matches) {
      const { kind, key } = match.entry;
      const signed = match.signed?.map((act) => ({ ...act, at: timeText(act.at) })) ?? null;
      const entered = match.entered?.map(({ at, what }) => ({ at: timeText(at), what })) ?? null;
      const powder = match.powder.map(powderText);
      const units = match.units.map((unit) => ({ ...unit, since: unit.since === null ? '' : timeText(unit.since) }));
      const named = [...(match.back ?? []), ...(match.forward ?? [])];
      const paths = PATHS.flatMap(([direction, title]) => {
        const earlier = match.earlier.filter((one) => one.direction === direction);
        const groups = pathPicture(match.entry, match[direction] ?? [], earlier);
        return groups.length === 0 ? [] : [{ direction, title, groups }];
      });
      matches.push({
        ...match,
        paths,
        back: match.back && firstOf(match.back),
        forward: match.forward && firstOf(match.forward),
        asked: TOLD_APART.flatMap(([title, kinds]) => {
          const nodes = named.filter((node) => kinds.includes(node.kind));
          return nodes.length === 0 ? [] : [{ title, ...firstOf(nodes) }];
        }),
        units,
        powder,
        signed,
        entered,
        revisions: await documentStanding(this.store, kind, key),
        isEntered: kindNamed(kind) !== undefined && match.entry.revision > 0,
      });
    }
    const near = matches.length + found.candidates.length > 0 ? [] : await this.store.read.trace.near(id);
    return this.pages.render('find', PAGE_TITLES.found(id), {
      asked: id,
      matches,
      candidates: found.candidates,
      narrowedTo: { from: from ?? '', to: to ?? '', asOf: asOf ?? '' },
      asOf: TRACE_LINES.asOf(await this.tracer.head(asOf)),
      cannotKnow: CANNOT_KNOW,
      near: near.map(({ kind, key }) => ({ key, says: kindText(kind) })),
      most: MOST_SIGNED,
      exportQuery: new URLSearchParams({ id, ...defined({ from, to, asOf }) }).toString(),
      apiQuery: new URLSearchParams(defined({ from, to, asOf })).toString(),
      shortKey,
    });
  }

  /** All rows of an answer, where the page shows the first ones. */
  @Access('signed in')
  @Get('find.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(@Query({ schema: TraceSearch }) { id, ...directions }: TraceSearch): Promise<StreamableFile> {
    const bytes = Buffer.from(traceCsv(await this.tracer.trace(id, directions)));
    const disposition = attachment(TRACE_LINES.file(id));
    return new StreamableFile(bytes, { type: 'text/csv; charset=utf-8', disposition, length: bytes.length });
  }

  /** The answer as a sealed file, which proves by itself that it comes from the audit trail. */
  @Access('signed in')
  @Get('find.pdf')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async pdf(@Query({ schema: TraceSearch }) { id, ...directions }: TraceSearch): Promise<StreamableFile> {
    return answerFile(await this.answers.trace(id, directions, this.actor.name));
  }

  @Access('signed in')
  @Operation({ summary: 'Where something came from and where it went', answer: TraceAnswer })
  @Get('api/v1/trace/:id')
  report(
    @Param('id', NAMED) id: string,
    @Query({ schema: TraceQuery }) { direction, asOf, from, to }: TraceQuery,
  ): Promise<TraceReport> {
    return this.tracer.trace(id, { back: direction === 'back', forward: direction === 'forward', asOf, from, to });
  }
}

const defined = (fields: Readonly<Record<string, string | undefined>>): Record<string, string> =>
  Object.fromEntries(Object.entries(fields).filter((field): field is [string, string] => field[1] !== undefined));
