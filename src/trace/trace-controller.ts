import { Controller, Get, Header, Param, Query, Redirect, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { isStoredDcc } from '../intake/stored-dcc.js';
import { kindNamed } from '../kinds/catalogue.js';
import { Moment } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { calibrationAddress, findAddress, rangesAddress, receiptCertificateAddress } from '../report/page-addresses.js';
import { CALIBRATION_CERTIFICATE } from '../report/phrases/calibration-certificate.js';
import { CANNOT_KNOW } from '../report/phrases/cannot-know.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { kindText } from '../report/phrases/kinds.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { documentStanding } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { RowPlace } from '../web/turned.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { answerFile } from './answer-file.js';
import { AnswerIssuer } from './answer-issuer.js';
import { matchView, rowsOf, TRACE_PARTS } from './find-view.js';
import { LatestAnswers } from './latest-answers.js';
import { rawFilesOf } from './raw-files.js';
import { TraceAnswer } from './trace-answer.js';
import { traceCsv } from './trace-csv.js';
import { shortKey, type TraceMatch, type TraceReport } from './traced.js';
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

/** A part of one of the things that an identifier names, with all its rows. */
const RowsQuery = TraceSearch.extend({
  match: RowPlace.describe('which of the things that are called so'),
  part: z.enum(TRACE_PARTS),
  row: RowPlace.describe('the first row that is shown'),
});
type RowsQuery = z.infer<typeof RowsQuery>;

/** Where something came from and where it went: the page that finds any identifier, and the same for programs. */
@Controller()
export class TraceController {
  private readonly latest: LatestAnswers;

  constructor(
    private readonly pages: Pages,
    private readonly tracer: Tracer,
    private readonly store: Store,
    private readonly answers: AnswerIssuer,
    private readonly actor: Actor,
  ) {
    this.latest = new LatestAnswers(store, tracer);
  }

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
    const found = await this.latest.search(id, { from, to, asOf });
    for (const match of found.matches) {
      const { kind, key, revision } = match.entry;
      matches.push({
        ...matchView(match),
        rawFiles: await this.rawFiles(match),
        revisions: await documentStanding(this.store, kind, key),
        ranges: await this.rangesOf(kind, key),
        isEntered: kindNamed(kind) !== undefined && revision > 0,
        // Of several things each is called back alone.
        callBackQuery: queryOf({ id: found.matches.length > 1 ? `${kind}:${key}` : id, from, to }),
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
      itsValues: CALIBRATION_CERTIFICATE.link,
      near: near.map(({ kind, key }) => ({ key, says: kindText(kind) })),
      exportQuery: queryOf({ id, from, to, asOf }),
      apiQuery: queryOf({ from, to, asOf }),
      shortKey,
    });
  }

  /** Where a case is told beside what its family has shown. */
  private async rangesOf(kind: string, key: string): Promise<string | undefined> {
    if (kind !== 'case' && kind !== 'case-design') return undefined;
    const prescribed = await this.store.read.entries.current('case', key);
    return prescribed && rangesAddress(prescribed.body.family, key);
  }

  /** With the page that tells what a certificate says, where one is among them. */
  private async rawFiles(match: TraceMatch) {
    const files = await rawFilesOf(this.store.read, match);
    return Promise.all(
      files.map(async (file) => {
        const { kind, key } = match.entry;
        const isRead = kind === 'instrument' && (await isStoredDcc(this.store, file.sha256));
        const ofReceipt = kind === 'receipt' && file.name === 'certificate' ? receiptCertificateAddress(key) : null;
        return { ...file, values: isRead ? calibrationAddress(file.sha256) : ofReceipt };
      }),
    );
  }

  /** All rows of one part of an answer, a page at a time. */
  @Access('signed in')
  @Get('find/rows')
  @Header(...HTML)
  async rows(@Query({ schema: RowsQuery }) { match: place, part, row, id, ...narrowed }: RowsQuery): Promise<string> {
    const { matches, candidates } = await this.latest.search(id, narrowed);
    if (matches.length + candidates.length === 0) throw new NotFoundError('thing', id);
    const head = await this.tracer.head(narrowed.asOf);
    const match = matches[place - 1];
    const page = match && rowsOf(match, part, row);
    if (match === undefined || page === undefined) throw new NotFoundError(TRACE_LINES.parts[part], id);
    return this.pages.render('find-rows', PAGE_TITLES.partFound(id, TRACE_LINES.parts[part]), {
      asked: id,
      title: `${match.entry.title} ${match.entry.key}: ${TRACE_LINES.parts[part]}`,
      asOf: TRACE_LINES.asOf(head),
      page,
      address: `/find/rows?${queryOf({ id, ...narrowed, match: String(place), part })}&row=`,
      back: `/find?${queryOf({ id, ...narrowed })}`,
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
  @FollowsFromRecords()
  @Get('api/v1/trace/:id')
  report(
    @Param('id', NAMED) id: string,
    @Query({ schema: TraceQuery }) { direction, asOf, from, to }: TraceQuery,
  ): Promise<TraceReport> {
    return this.tracer.trace(id, { back: direction === 'back', forward: direction === 'forward', asOf, from, to });
  }
}

const queryOf = (fields: Readonly<Record<string, string | undefined>>): string =>
  new URLSearchParams(
    Object.entries(fields).filter((field): field is [string, string] => field[1] !== undefined),
  ).toString();
