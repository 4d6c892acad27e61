import { Controller, Get, Header, Param, StreamableFile } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import { placesOfImplants } from '../lots/unit-places.js';
import { Actor } from '../people/actor.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { identifierIn, RECALL_LINES } from '../report/phrases/recall.js';
import { revisionsSigned } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';
import { answerFile } from './answer-file.js';
import { AnswerIssuer } from './answer-issuer.js';
import { askedBy, recallFiles } from './recall.js';
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
      askedFor: identifierIn(recall.query),
      files: [...(await this.filesOf(code)).keys()],
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

  /** The list to reconcile, or the draft notice of one institution, with places and addresses of now. */
  @Access('signed in')
  @Get(':code/files/:name')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async file(@Param('code', NAMED) code: string, @Param('name', NAMED) name: string): Promise<StreamableFile> {
    const text = (await this.filesOf(code)).get(name);
    if (text === undefined) throw new NotFoundError('file', name, `of recall ${code}`);
    const bytes = Buffer.from(text);
    const type = name.endsWith('.csv') ? 'text/csv; charset=utf-8' : 'text/plain; charset=utf-8';
    return new StreamableFile(bytes, { type, disposition: attachment(`${code}-${name}`), length: bytes.length });
  }

  private async filesOf(code: string): Promise<ReadonlyMap<string, string>> {
    const { body } = await this.store.read.entries.currentOrThrow('recall', code);
    const units = await placesOfImplants(this.store.read, body.expected);
    return recallFiles(
      askedBy(body),
      units.sort((a, b) => (a.key < b.key ? -1 : 1)),
    );
  }
}
