import { Controller, Get, Header, Param, StreamableFile } from '@nestjs/common';
import { ResultsAnswer, resultsAnswer, resultsCsv } from '../lots/results-answer.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { NAMED } from '../web/input.js';
import { Operation } from '../web/operation.js';
import { FollowsFromRecords } from '../web/unchanged.js';

/** Every value of a lot, for other programs. */
@Controller()
export class ResultsController {
  constructor(private readonly store: Store) {}

  @Access('signed in')
  @Get('lots/:lot/results.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(@Param('lot', NAMED) lot: string): Promise<StreamableFile> {
    const bytes = Buffer.from(resultsCsv(await resultsAnswer(this.store.read, lot)));
    const disposition = attachment(`results-${lot}.csv`);
    return new StreamableFile(bytes, { type: 'text/csv; charset=utf-8', disposition, length: bytes.length });
  }

  @Access('signed in')
  @Operation({ summary: 'Every value of a lot with its sheet and line', answer: ResultsAnswer })
  @FollowsFromRecords()
  @Get('api/v1/lots/:lot/results')
  report(@Param('lot', NAMED) lot: string): Promise<ResultsAnswer> {
    return resultsAnswer(this.store.read, lot);
  }
}
