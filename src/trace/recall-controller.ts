import { Controller, Get, Header, Param, type StreamableFile } from '@nestjs/common';
import { Actor } from '../people/actor.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { RECALL_LINES } from '../report/phrases/recall.js';
import { revisionsSigned } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { answerFile } from './answer-file.js';
import { AnswerIssuer } from './answer-issuer.js';
import { recallProgress, recallStanding } from './recall-standing.js';

/** Recalls and drills: what was expected, what was found where, and how long it took. */
@Controller('recalls')
export class RecallController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly answers: AnswerIssuer,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async list(): Promise<string> {
    const all = await this.store.read.entries.list('recall');
    const recalls = all
      .sort((a, b) => Date.parse(b.body.started) - Date.parse(a.body.started))
      .map(({ body }) => ({ ...body, isDrill: body.drill === 'yes', ...recallProgress(this.store, body) }));
    return this.pages.render('recalls', PAGE_TITLES.recalls, { recalls });
  }

  @Access('signed in')
  @Get(':code')
  @Header(...HTML)
  async one(@Param('code', NAMED) code: string): Promise<string> {
    const recall = await recallStanding(this.store, code);
    return this.pages.render('recall', RECALL_LINES.title(code, recall.drill), {
      recall,
      revisions: await revisionsSigned(this.store, 'recall', code),
    });
  }

  /** The report as a sealed file. */
  @Access('signed in')
  @Get(':code/report.pdf')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async report(@Param('code', NAMED) code: string): Promise<StreamableFile> {
    return answerFile(await this.answers.recall(code, this.actor.name));
  }
}
