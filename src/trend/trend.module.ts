import { Module } from '@nestjs/common';
import { LotsModule } from '../lots/lots.module.js';
import { WebModule } from '../web/web.module.js';
import { FamilyTrend } from './family-trend.js';
import { TrendController } from './trend-controller.js';

/** Capability of a family over its lots. */
@Module({
  imports: [WebModule, LotsModule],
  controllers: [TrendController],
  providers: [FamilyTrend],
  exports: [FamilyTrend],
})
export class TrendModule {}
