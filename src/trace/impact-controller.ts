import { Controller, Get, Header, Param, Query, Res, StreamableFile } from '@nestjs/common';
import type { Response } from 'express';
import { stringify } from 'yaml';
import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { Moment } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { TRACE_LINES } from '../report/phrases/commands/trace.js';
import { IMPACT_LINES } from '../report/phrases/impact.js';
import { JOBS } from '../report/phrases/jobs.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { mayBeEmpty } from '../web/fields.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Jobs } from '../web/jobs.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { answerFile } from './answer-file.js';
import { AnswerIssuer } from './answer-issuer.js';
import { quantityOption, uncertaintyOption } from './asked-options.js';
import type { ImpactAsked, LotsLooked } from './impact.js';
import { ImpactAnswer, lotsAmong } from './impact-answer.js';
import { impactCsv } from './impact-csv.js';
import { impactCode, impactDocument } from './impact-document.js';
import { Impacts } from './impacts.js';
import { KeptImpacts } from './kept-impacts.js';

const Quantity = mayBeEmpty(z.string().trim().max(100));

const IMPACT_QUERY = {
  from: mayBeEmpty(Moment).describe('last moment at which it was known to be right'),
  to: mayBeEmpty(Moment).describe('moment at which it was found off'),
  bias: Quantity.describe('by how much its values read too much, such as 0.4 mg'),
  uncertainty: Quantity.describe('standard uncertainty that its values have at least'),
  without: mayBeEmpty(z.enum(['yes', 'no'])).describe('yes: assess without its results'),
};
const ImpactQuery = z.strictObject(IMPACT_QUERY);
type ImpactQuery = z.infer<typeof ImpactQuery>;
const ImpactFileQuery = z.strictObject({ id: z.string().trim().max(200).default(''), ...IMPACT_QUERY });
type ImpactFileQuery = z.infer<typeof ImpactFileQuery>;
const ImpactPageQuery = ImpactFileQuery.extend({
  answer: z.string().max(50).optional().describe('name of an answer that took its time'),
});
type ImpactPageQuery = z.infer<typeof ImpactPageQuery>;

/** More rows than anybody reads on a page: the files have all of them. */
const MOST_SHOWN = 200;

const askedOf = (id: string, { from, to, bias, uncertainty, without }: ImpactQuery): ImpactAsked => ({
  ...{ id, from, to, without: without === 'yes' },
  bias: quantityOption('bias', bias),
  uncertainty: uncertaintyOption('uncertainty', uncertainty),
});

/** What it means that something was found off afterwards: the page, its files, and the same for programs. */
@Controller()
export class ImpactController {
  constructor(
    private readonly pages: Pages,
    private readonly impacts: Impacts,
    private readonly kept: KeptImpacts,
    private readonly jobs: Jobs,
    private readonly answers: AnswerIssuer,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('impact')
  @Header(...HTML)
  async page(
    @Query({ schema: ImpactPageQuery }) { id, answer: name, ...query }: ImpactPageQuery,
    @Res({ passthrough: true }) response: Response,
  ): Promise<string> {
    const asked = { from: '', to: '', bias: '', uncertainty: '', without: 'no', ...defined(query) };
    if (id === '') return this.pages.render('impact', PAGE_TITLES.impact, { id, asked, answer: null });
    const address = impactAddress(id, query);
    const answer =
      (name === undefined ? undefined : this.kept.of(name, address)) ?? (await this.answeredSoon(id, query));
    if (typeof answer === 'string') {
      response.status(303).location(answer);
      return '';
    }
    const { units, results } = answer;
    const flips = units.filter((unit) => unit.flips);
    return this.pages.render('impact', PAGE_TITLES.impactOf(id), {
      id,
      asked,
      answer,
      flips,
      most: MOST_SHOWN,
      asOf: TRACE_LINES.asOf(answer.head),
      says: IMPACT_LINES.counted(results.length, lotsAmong(results), units.length),
      notRead: IMPACT_LINES.notRead,
      again: IMPACT_LINES.again(answer.altered, flips.length),
      time: IMPACT_LINES.interval(answer.from, answer.to, answer.proposed),
      measured: (row: { readonly measuredAt: string }) => timeText(row.measuredAt),
      query: address.slice(address.indexOf('?') + 1),
    });
  }

  /** The answer, or the address of the page that tells how far it is: many lots are assessed twice. */
  private async answeredSoon(id: string, query: ImpactQuery): Promise<ImpactAnswer | string> {
    const { session } = this.actor;
    const address = impactAddress(id, query);
    let found: ImpactAnswer | undefined;
    let isAwaited = true;
    const to = await this.jobs.beginAndWait({
      key: `impact ${session.person} ${address}`,
      sort: 'impact',
      title: JOBS.impact(id),
      starter: session,
      back: address,
      isPrivate: true,
      work: async ({ signal, progress }) => {
        const told = ({ done, total }: LotsLooked) => progress(done, total);
        found = await this.impacts.of(askedOf(id, query), told, signal);
        return isAwaited ? address : `${address}&answer=${this.kept.keep(address, found)}`;
      },
    });
    isAwaited = false;
    return found ?? to;
  }

  @Access('signed in')
  @Get('impact.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(@Query({ schema: ImpactFileQuery }) { id, ...query }: ImpactFileQuery): Promise<StreamableFile> {
    const answer = await this.impacts.of(askedOf(id, query));
    return file(impactCsv(answer), 'text/csv; charset=utf-8', `impact-${answer.cause.key}.csv`);
  }

  /** The answer as a document of its kind, to be completed and taken in. */
  @Access('signed in')
  @Get('impact.yaml')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async document(@Query({ schema: ImpactFileQuery }) { id, ...query }: ImpactFileQuery): Promise<StreamableFile> {
    const asked = askedOf(id, query);
    const answer = await this.impacts.of(asked);
    const text = stringify(impactDocument(answer, { ...asked, code: impactCode(answer) }));
    return file(text, 'application/yaml', `${impactCode(answer)}.yaml`);
  }

  /** The answer as a sealed file, which proves by itself that it comes from the audit trail. */
  @Access('signed in')
  @Get('impact.pdf')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async pdf(@Query({ schema: ImpactFileQuery }) { id, ...query }: ImpactFileQuery): Promise<StreamableFile> {
    return answerFile(await this.answers.impact(askedOf(id, query), this.actor.name));
  }

  @Access('signed in')
  @Operation({ summary: 'What it means that something was found off afterwards', answer: ImpactAnswer })
  @FollowsFromRecords()
  @Get('api/v1/impact/:id')
  report(@Param('id', NAMED) id: string, @Query({ schema: ImpactQuery }) query: ImpactQuery): Promise<ImpactAnswer> {
    return this.impacts.of(askedOf(id, query));
  }
}

const impactAddress = (id: string, query: ImpactQuery): string =>
  `/impact?${new URLSearchParams({ id, ...defined(query) })}`;

const defined = (query: ImpactQuery): Record<string, string> =>
  Object.fromEntries(Object.entries(query).filter((field): field is [string, string] => field[1] !== undefined));

function file(text: string, type: string, name: string): StreamableFile {
  const bytes = Buffer.from(text);
  return new StreamableFile(bytes, { type, disposition: attachment(name), length: bytes.length });
}
