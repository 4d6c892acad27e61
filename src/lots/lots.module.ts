import { Module } from '@nestjs/common';
import { LotAssessor } from './lot-assessor.js';
import { LotOverview } from './lot-overview.js';

/** Lots frozen, assessed and listed. */
@Module({ providers: [LotAssessor, LotOverview], exports: [LotAssessor, LotOverview] })
export class LotsModule {}
