import { Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import { Actor } from '../people/actor.js';
import { Access } from '../web/access.js';
import { FormPost } from '../web/forms.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { CurrentAssessments } from './current-assessments.js';
import { LotAnswer, LotsAnswer, lotAnswer } from './lot-answers.js';
import { LotAssessor } from './lot-assessor.js';
import { LotOverview } from './lot-overview.js';

/** Assessing a lot, for people and for programs; and what the API says of lots, whose pages are those of the desk. */
@Controller()
export class LotsController {
  constructor(
    private readonly overview: LotOverview,
    private readonly current: CurrentAssessments,
    private readonly assessor: LotAssessor,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @FormPost('lots/:lot/assess')
  async assess(@Param('lot', NAMED) lot: string): Promise<string> {
    await this.assessor.freeze(lot, this.actor.name);
    return `/lots/${encodeURIComponent(lot)}`;
  }

  @Access('signed in')
  @Operation({ summary: 'Lots with the verdict of each implant and what blocks it', answer: LotsAnswer })
  @Get('api/v1/lots')
  async list() {
    return { lots: await this.overview.list() };
  }

  @Access('signed in')
  @Operation({ summary: 'The latest frozen lot file, assessed', answer: LotAnswer })
  @FollowsFromRecords()
  @Get('api/v1/lots/:lot')
  async one(@Param('lot', NAMED) lot: string) {
    const assessed = await this.current.of(lot);
    if (!assessed) throw new NotFoundError('assessment of lot', lot);
    return lotAnswer(lot, assessed);
  }

  @Access('signed in')
  @Operation({ summary: 'Freeze the lot as it stands and assess it', answer: LotAnswer })
  @Post('api/v1/lots/:lot/assess')
  @HttpCode(200)
  async assessAndTell(@Param('lot', NAMED) lot: string) {
    return lotAnswer(lot, await this.assessor.assess(lot, this.actor.name));
  }
}
