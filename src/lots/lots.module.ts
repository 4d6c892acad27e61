import { Module } from '@nestjs/common';
import { CurrentAssessments } from './current-assessments.js';
import { FamilyStudies } from './family-studies.js';
import { FamilySummaries } from './family-summaries.js';
import { LotAssessor } from './lot-assessor.js';
import { LotOverview } from './lot-overview.js';
import { NonconformityStarts } from './nonconformity-start.js';
import { ShownRanges } from './ranges/shown-ranges.js';
import { Reassessor } from './reassessor.js';

const SERVICES = [
  CurrentAssessments,
  FamilyStudies,
  FamilySummaries,
  LotAssessor,
  LotOverview,
  NonconformityStarts,
  Reassessor,
  ShownRanges,
];

/** Lots frozen, assessed and listed. */
@Module({ providers: SERVICES, exports: SERVICES })
export class LotsModule {}
