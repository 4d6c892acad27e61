import { Controller, Get, Header, Param, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { noFormula, writeCsv } from '../dossier/csv.js';
import { timeText } from '../dossier/time-text.js';
import { Day } from '../kinds/fields.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { AUDITOR_QUESTIONS, type AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { RowPlace, turned } from '../web/turned.js';
import { QUESTIONS } from './auditor-questions.js';

const Period = z.strictObject({ from: mayBeEmpty(Day), to: mayBeEmpty(Day) });
type Period = z.infer<typeof Period>;
const Shown = z.strictObject({ ...Period.shape, row: RowPlace.describe('the first row that is shown') });
type Shown = z.infer<typeof Shown>;

/** Rows on a page; more are turned over, and the CSV has all. */
const ON_A_PAGE = 100;
/** The column that leads to more. */
const LINKED: Readonly<Record<AuditorQuestionName, number>> = {
  ...{ lots: 0, releases: 1, excursions: 2, recipes: 0, shared: 1, unqualified: 0, changed: 0, recalls: 0 },
};

const DAY_MS = 86_400_000;

/** Questions that auditors ask, each with its answer and its file. */
@Controller('questions')
export class AuditorController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  list(): string {
    const questions = Object.entries(AUDITOR_QUESTIONS).map(([slug, question]) => ({ slug, ...question }));
    return this.pages.render('questions', PAGE_TITLES.questions, { questions });
  }

  @Access('signed in')
  @Get(':question')
  @Header(...HTML)
  async answer(
    @Param('question', NAMED) slug: string,
    @Query({ schema: Shown }) { row, ...period }: Shown,
  ): Promise<string> {
    const name = questionNamed(slug);
    const page = turned(await this.rows(name, period), row, ON_A_PAGE);
    const { size, root } = await this.head();
    const exportQuery = new URLSearchParams(
      Object.entries(period).filter((field): field is [string, string] => field[1] !== undefined),
    ).toString();
    return this.pages.render('question', AUDITOR_QUESTIONS[name].title, {
      slug,
      ...AUDITOR_QUESTIONS[name],
      period: { from: period.from ?? '', to: period.to ?? '' },
      linked: LINKED[name],
      page: { ...page, rows: page.rows.map((cells) => cells.map(shown)) },
      asOf: TRACE_LINES.asOf({ size, root }),
      exportQuery,
      address: `/questions/${slug}?${exportQuery}${exportQuery === '' ? '' : '&'}row=`,
    });
  }

  @Access('signed in')
  @Get(':question/answer.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(
    @Param('question', NAMED) slug: string,
    @Query({ schema: Period }) period: Period,
  ): Promise<StreamableFile> {
    const name = questionNamed(slug);
    const rows = (await this.rows(name, period)).map((row) => row.map(noFormula));
    const bytes = Buffer.from(writeCsv(AUDITOR_QUESTIONS[name].columns, rows));
    const { size } = await this.head();
    const disposition = attachment(`${name}-as-of-${size}.csv`);
    return new StreamableFile(bytes, { type: 'text/csv; charset=utf-8', disposition, length: bytes.length });
  }

  private rows(name: AuditorQuestionName, { from, to }: Period) {
    const first = from === undefined ? Number.NEGATIVE_INFINITY : Date.parse(from);
    const last = to === undefined ? Number.POSITIVE_INFINITY : Date.parse(to) + DAY_MS;
    const within = (moment: string) => Date.parse(moment) >= first && Date.parse(moment) < last;
    return QUESTIONS[name]({ read: this.store.read, current: this.current, within });
  }

  private async head() {
    const size = await this.store.read.ledger.size();
    return { size, root: await this.store.read.ledger.root(size) };
  }
}

/** @throws NotFoundError when nobody asks that. */
/** A moment as people read it; a file has it as it was recorded. */
const shown = (cell: string): string => (MOMENT.test(cell) ? timeText(cell) : cell);
const MOMENT = /^\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)$/;

function questionNamed(slug: string): AuditorQuestionName {
  if (Object.hasOwn(AUDITOR_QUESTIONS, slug)) return slug as AuditorQuestionName;
  throw new NotFoundError('question', slug, 'in this program');
}
