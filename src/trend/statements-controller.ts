import { Controller, Get, HttpCode, Param, Post, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { Day } from '../kinds/fields.js';
import { Actor } from '../people/actor.js';
import { CapabilityPapers } from '../records/capability/capability-papers.js';
import { capabilityNumber } from '../records/capability/enclosure.js';
import { trendAddress } from '../report/page-addresses.js';
import { TREND_STATEMENT } from '../report/phrases/trend-statement.js';
import { Access } from '../web/access.js';
import { inline } from '../web/disposition.js';
import { FormPost } from '../web/forms.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { FollowsFromRecords } from '../web/unchanged.js';
import { CapabilityStating, type StatedCapability } from './capability-stating.js';
import { StatementAnswer, StatementsAnswer } from './statement-answer.js';
import { StatementsOnRecord } from './statements-on-record.js';

const StatementQuery = z.strictObject({
  family: NAMED.schema,
  characteristic: NAMED.schema,
  number: z
    .string()
    .regex(/^[1-9]\d{0,8}$/, { error: 'the number of a statement, from 1' })
    .transform(Number),
});
type StatementQuery = z.infer<typeof StatementQuery>;

const StatedWindow = z.strictObject({
  from: Day.optional().describe('first day of closing that the study looks at'),
  to: Day.optional().describe('last day of closing that the study looks at'),
});
type StatedWindow = z.infer<typeof StatedWindow>;

const answerOf = ({ digest, known, text }: StatedCapability) => ({
  digest,
  known,
  statement: JSON.parse(text) as unknown,
});

/** Freezing what a family is able to, and its paper. */
@Controller()
export class StatementsController {
  constructor(
    private readonly stating: CapabilityStating,
    private readonly papers: CapabilityPapers,
    private readonly statements: StatementsOnRecord,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @FormPost('families/:family/:characteristic/statements')
  async state(
    @Param('family', NAMED) family: string,
    @Param('characteristic', NAMED) characteristic: string,
  ): Promise<string> {
    const stated = await this.stating.state(characteristic, family, {}, this.actor.name);
    if (stated === undefined) throw new AppError('CONFLICT', TREND_STATEMENT.noIndex);
    return `${trendAddress(family, characteristic)}#statements`;
  }

  @Access('signed in')
  @Operation({ summary: 'What was stated of a characteristic, latest first', answer: StatementsAnswer })
  @FollowsFromRecords()
  @Get('api/v1/families/:family/:characteristic/statements')
  async list(@Param('family', NAMED) family: string, @Param('characteristic', NAMED) characteristic: string) {
    const lines = await this.statements.of(family, characteristic);
    return {
      family,
      characteristic,
      statements: lines.map(({ number, digest, statedAt, from, to, says, reviewed, since }) => ({
        ...{ number, digest, statedAt, window: { from, to }, says, reviewed, since },
      })),
    };
  }

  @Access('signed in')
  @Operation({ summary: 'A statement of capability, with all that it rests on', answer: StatementAnswer })
  @FollowsFromRecords()
  @Get('api/v1/families/:family/:characteristic/statements/:number')
  async one(
    @Param('family', NAMED) family: string,
    @Param('characteristic', NAMED) characteristic: string,
    @Param('number', { schema: StatementQuery.shape.number }) number: number,
  ) {
    return answerOf(await this.stating.stated(characteristic, family, number));
  }

  @Access('signed in')
  @Operation({ summary: 'Freeze what the family is able to now, in one characteristic', answer: StatementAnswer })
  @Post('api/v1/families/:family/:characteristic/statements')
  @HttpCode(200)
  async stateAndTell(
    @Param('family', NAMED) family: string,
    @Param('characteristic', NAMED) characteristic: string,
    @Query({ schema: StatedWindow }) window: StatedWindow,
  ) {
    const stated = await this.stating.state(characteristic, family, window, this.actor.name);
    if (stated === undefined) throw new AppError('CONFLICT', TREND_STATEMENT.noIndex);
    return answerOf(stated);
  }

  @Access('signed in')
  @Get('trend/statement.pdf')
  async paper(@Query({ schema: StatementQuery }) query: StatementQuery): Promise<StreamableFile> {
    const { family, characteristic, number } = query;
    const { pdf } = await this.papers.print(family, characteristic, number, this.actor.name);
    const name = `${capabilityNumber(family, characteristic)}-${number}.pdf`;
    return new StreamableFile(pdf, { type: 'application/pdf', disposition: inline(name), length: pdf.length });
  }
}
