import { Controller, Get, Param, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { Actor } from '../people/actor.js';
import { CapabilityPapers } from '../records/capability/capability-papers.js';
import { capabilityNumber } from '../records/capability/render.js';
import { trendAddress } from '../report/page-addresses.js';
import { TREND_STATEMENT } from '../report/phrases/trend-statement.js';
import { Access } from '../web/access.js';
import { inline } from '../web/disposition.js';
import { FormPost } from '../web/forms.js';
import { NAMED } from '../web/input.js';
import { CapabilityStating } from './capability-stating.js';

const StatementQuery = z.strictObject({
  family: NAMED.schema,
  characteristic: NAMED.schema,
  number: z
    .string()
    .regex(/^[1-9]\d{0,8}$/, { error: 'the number of a statement, from 1' })
    .transform(Number),
});
type StatementQuery = z.infer<typeof StatementQuery>;

/** Freezing what a family is able to, and its paper. */
@Controller()
export class StatementsController {
  constructor(
    private readonly stating: CapabilityStating,
    private readonly papers: CapabilityPapers,
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
  @Get('trend/statement.pdf')
  async paper(@Query({ schema: StatementQuery }) query: StatementQuery): Promise<StreamableFile> {
    const { family, characteristic, number } = query;
    const { pdf } = await this.papers.print(family, characteristic, number, this.actor.name);
    const name = `${capabilityNumber(family, characteristic)}-${number}.pdf`;
    return new StreamableFile(pdf, { type: 'application/pdf', disposition: inline(name), length: pdf.length });
  }
}
