import { Body, Controller, Get, Header, HttpCode, Param, Post, Query } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import { runCalculation } from '../calculations/calculation.js';
import { CALCULATIONS, calculationNamed } from '../calculations/catalogue.js';
import { CalculationInput } from '../calculator/calculation-requests.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { type AssessedLot, LotAssessor } from '../lots/lot-assessor.js';
import { LotOverview } from '../lots/lot-overview.js';
import { Actor } from '../people/actor.js';
import { RecordIssuer } from '../records/record-issuer.js';
import { assessmentInWords } from '../report/assessment-words.js';
import { Tracer } from '../trace/tracer.js';
import { FamilyTrend } from '../trend/family-trend.js';
import { Access, StoresNothing } from '../web/access.js';
import { NAMED } from '../web/input.js';
import { TraceQuery, TrendQuery } from '../web/request-schemas.js';
import { openApiDocument } from './openapi.js';

const JSON_TYPE = ['Content-Type', 'application/json; charset=utf-8'] as const;

/** The same services for programs. Errors are problem details (RFC 9457). */
@Controller('api/v1')
export class ApiController {
  constructor(
    private readonly overview: LotOverview,
    private readonly current: CurrentAssessments,
    private readonly assessor: LotAssessor,
    private readonly issuer: RecordIssuer,
    private readonly tracer: Tracer,
    private readonly familyTrend: FamilyTrend,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @Get('lots')
  async lots() {
    return { lots: await this.overview.list() };
  }

  @Access('signed in')
  @Get('lots/:lot')
  async lot(@Param('lot', NAMED) lot: string) {
    const assessed = await this.current.of(lot);
    if (!assessed) throw new NotFoundError('assessment of lot', lot);
    return lotAnswer(lot, assessed);
  }

  @Access('signed in')
  @Post('lots/:lot/assess')
  @HttpCode(200)
  async assess(@Param('lot', NAMED) lot: string) {
    return lotAnswer(lot, await this.assessor.assess(lot, this.actor.name));
  }

  @Access('signed in')
  @Post('lots/:lot/records')
  async issue(@Param('lot', NAMED) lot: string) {
    const { file: _local, ...issued } = await this.issuer.issue(lot, this.actor.name);
    return { ...issued, href: `/lots/${encodeURIComponent(lot)}/record.pdf?revision=${issued.revision}` };
  }

  @Access('signed in')
  @Get('trace/:id')
  async trace(@Param('id', NAMED) id: string, @Query({ schema: TraceQuery }) { direction }: TraceQuery) {
    return this.tracer.trace(id, { back: direction === 'back', forward: direction === 'forward' });
  }

  @Access('signed in')
  @Get('trend')
  async trend(@Query({ schema: TrendQuery }) { family, characteristic }: TrendQuery) {
    return this.familyTrend.trend(characteristic, family);
  }

  @Access('signed in')
  @Get('calc')
  calculations() {
    return { calculations: CALCULATIONS.map(({ name, purpose, source }) => ({ name, purpose, source })) };
  }

  @Access('signed in')
  @StoresNothing()
  @Post('calc/:name')
  @HttpCode(200)
  calculate(@Param('name', NAMED) name: string, @Body({ schema: CalculationInput }) input: CalculationInput) {
    return runCalculation(calculationNamed(name), input);
  }

  @Access('signed in')
  @Get('openapi.json')
  @Header(...JSON_TYPE)
  openApi() {
    return openApiDocument();
  }
}

function lotAnswer(lot: string, { dossierSha256, assessmentSha256, ofEarlierVersion, assessment }: AssessedLot) {
  return { lot, dossierSha256, assessmentSha256, ofEarlierVersion, assessment: assessmentInWords(assessment) };
}
