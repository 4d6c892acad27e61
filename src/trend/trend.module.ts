import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { CapabilityStating } from './capability-stating.js';
import { FamilyTrend } from './family-trend.js';

/** Capability of a family over its lots. */
@Module({
  imports: [LotsModule],
  providers: [FamilyTrend, CapabilityStating],
  exports: [FamilyTrend, CapabilityStating],
})
export class TrendModule {}
