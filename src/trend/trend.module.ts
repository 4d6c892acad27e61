import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { FamilyTrend } from './family-trend.js';

/** Capability of a family over its lots. */
@Module({ imports: [LotsModule], providers: [FamilyTrend], exports: [FamilyTrend] })
export class TrendModule {}
