import { Module } from '@nestjs/common';
import { CurrentAssessments } from './current-assessments.js';
import { LotAssessor } from './lot-assessor.js';
import { LotOverview } from './lot-overview.js';

/** Lots frozen, assessed and listed. */
@Module({
  providers: [CurrentAssessments, LotAssessor, LotOverview],
  exports: [CurrentAssessments, LotAssessor, LotOverview],
})
export class LotsModule {}
