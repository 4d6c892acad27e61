import { Controller, Get, Param, Post, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { Actor } from '../people/actor.js';
import { lotAddress } from '../report/page-addresses.js';
import { JOBS } from '../report/phrases/jobs.js';
import { Access } from '../web/access.js';
import { inline } from '../web/disposition.js';
import { FormPost } from '../web/forms.js';
import { NAMED } from '../web/input.js';
import { Jobs } from '../web/jobs.js';
import { Operation } from '../web/operation.js';
import { RecordAnswer } from './record-answer.js';
import { RecordIssuer } from './record-issuer.js';
import { recordJobKey } from './record-job.js';

const RecordQuery = z.strictObject({
  revision: z
    .string()
    .regex(/^[1-9]\d{0,8}$/, { error: 'a revision number, from 1' })
    .transform(Number)
    .optional(),
});
type RecordQuery = z.infer<typeof RecordQuery>;

/** Records of a lot: issuing one, for people and for programs, and its PDF. */
@Controller()
export class RecordsController {
  constructor(
    private readonly issuer: RecordIssuer,
    private readonly jobs: Jobs,
    private readonly actor: Actor,
  ) {}

  @Access('signed in')
  @FormPost('lots/:lot/records')
  async issue(@Param('lot', NAMED) lot: string): Promise<string> {
    const { name: actor, session } = this.actor;
    const to = lotAddress(lot, 'papers', 'records');
    return this.jobs.beginAndWait({
      key: recordJobKey(lot),
      sort: 'record',
      title: JOBS.issue(lot),
      starter: session,
      back: to,
      work: async ({ signal, progress: onProgress }) => {
        await this.issuer.issue(lot, actor, { signal, onProgress });
        return to;
      },
    });
  }

  @Access('signed in')
  @Operation({ summary: 'Issue the record of the lot as it stands', answer: RecordAnswer })
  @Post('api/v1/lots/:lot/records')
  async issueAndTell(@Param('lot', NAMED) lot: string): Promise<RecordAnswer> {
    const { file: _local, ...issued } = await this.issuer.issue(lot, this.actor.name);
    return { ...issued, href: `/lots/${encodeURIComponent(lot)}/record.pdf?revision=${issued.revision}` };
  }

  @Access('signed in')
  @Get('lots/:lot/record.pdf')
  async record(
    @Param('lot', NAMED) lot: string,
    @Query({ schema: RecordQuery }) { revision }: RecordQuery,
  ): Promise<StreamableFile> {
    const issued = await this.issuer.issued(lot, revision);
    return new StreamableFile(issued.pdf, {
      type: 'application/pdf',
      disposition: inline(`${issued.number}-r${issued.revision}.pdf`),
      length: issued.pdf.length,
    });
  }
}
