import { Controller, Get, Header, Param, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { noFormula, writeCsv } from '../dossier/csv.js';
import { Day } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { evidenceAddress, findAddress, recallAddress } from '../report/page-addresses.js';
import { AUDITOR_QUESTIONS, type AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { identifierIn } from '../report/phrases/recall.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { RowPlace, turned } from '../web/turned.js';
import { answerFile } from './answer-file.js';
import { AnswerIssuer } from './answer-issuer.js';
import { cellText, shortDigest } from './auditor-answer.js';
import { AuditorAnswers } from './auditor-answers.js';

const Asked = z.strictObject({
  from: mayBeEmpty(Day),
  to: mayBeEmpty(Day),
  about: mayBeEmpty(z.string().trim().max(200)),
});
type Asked = z.infer<typeof Asked>;
const PageAsked = Asked.extend({ row: RowPlace.describe('the first row that is shown') });
type PageAsked = z.infer<typeof PageAsked>;

const ROWS_ON_A_PAGE = 100;

/** Of a piece, the specimen that it was cut from. */
const specimenAddress = (cell: string): string => findAddress(cell.split('/')[0]!);

/** Where the evidence of a row is: the columns that lead to what they name. */
const LEADS: Readonly<Record<AuditorQuestionName, Readonly<Record<number, (cell: string) => string>>>> = {
  lots: { 0: findAddress },
  counted: { 0: findAddress },
  values: { 0: findAddress, 1: specimenAddress, 5: findAddress, 6: findAddress, 7: evidenceAddress },
  failed: { 0: findAddress, 1: specimenAddress, 7: evidenceAddress },
  coupons: { 0: findAddress, 1: findAddress, 3: findAddress },
  destroyed: { 0: findAddress, 1: findAddress, 4: findAddress },
  known: { 2: findAddress, 4: findAddress },
  releases: { 1: findAddress, 4: findAddress, 6: findAddress },
  excursions: { 2: findAddress, 4: (key) => findAddress(key.split(':').at(-1)!), 5: findAddress },
  recipes: { 0: findAddress, 1: findAddress, 3: findAddress },
  shared: { 1: findAddress },
  unqualified: { 1: findAddress, 3: findAddress, 4: findAddress },
  changed: { 0: findAddress },
  recalls: { 0: recallAddress, 2: (query) => findAddress(identifierIn(query)) },
};

/** Questions that auditors ask, each with its answer and its files. */
@Controller('questions')
export class AuditorController {
  constructor(
    private readonly pages: Pages,
    private readonly asked: AuditorAnswers,
    private readonly answers: AnswerIssuer,
    private readonly actor: Actor,
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
    @Query({ schema: PageAsked }) { row, ...asked }: PageAsked,
  ): Promise<string> {
    const name = questionNamed(slug);
    const answer = await this.asked.answer(name, asked);
    const page = turned(answer.rows, row, ROWS_ON_A_PAGE);
    const query = queryOf(asked);
    return this.pages.render('question', answer.title, {
      slug,
      answer,
      asked: { from: asked.from ?? '', to: asked.to ?? '', about: asked.about ?? '' },
      page: { ...page, rows: page.rows.map((cells) => cells.map((cell, column) => shown(name, cell, column))) },
      isNumber: answer.columns.map((_, column) => answer.rows.every((cells) => /^\d+$/.test(cells[column] ?? ''))),
      asOf: TRACE_LINES.asOf(answer.head),
      query,
      address: `/questions/${slug}?${query === '' ? '' : `${query}&`}row=`,
    });
  }

  @Access('signed in')
  @Get(':question/answer.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(@Param('question', NAMED) slug: string, @Query({ schema: Asked }) asked: Asked): Promise<StreamableFile> {
    const name = questionNamed(slug);
    const { columns, rows, head } = await this.asked.answer(name, asked);
    const bytes = Buffer.from(
      writeCsv(
        columns,
        rows.map((row) => row.map(noFormula)),
      ),
    );
    const disposition = attachment(`${name}-as-of-${head.size}.csv`);
    return new StreamableFile(bytes, { type: 'text/csv; charset=utf-8', disposition, length: bytes.length });
  }

  /** The answer as a sealed file, which proves by itself from which audit trail it comes. */
  @Access('signed in')
  @Get(':question/answer.pdf')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async pdf(@Param('question', NAMED) slug: string, @Query({ schema: Asked }) asked: Asked): Promise<StreamableFile> {
    return answerFile(await this.answers.question(questionNamed(slug), asked, this.actor.name));
  }
}

const shown = (name: AuditorQuestionName, cell: string, column: number) => {
  const href = cell === '' ? undefined : LEADS[name][column]?.(cell);
  const isMoment = cellText(cell) !== cell;
  // Where it leads to what it names, the first digits tell it from others.
  return { says: href === undefined ? cellText(cell) : shortDigest(cellText(cell)), isMoment, href };
};

const queryOf = (asked: Asked): string =>
  new URLSearchParams(
    Object.entries(asked).filter((field): field is [string, string] => field[1] !== undefined),
  ).toString();

/** @throws NotFoundError when nobody asks that. */
function questionNamed(slug: string): AuditorQuestionName {
  if (Object.hasOwn(AUDITOR_QUESTIONS, slug)) return slug as AuditorQuestionName;
  throw new NotFoundError('question', slug, 'in this program');
}
