import { type DynamicModule, Module } from '@nestjs/common';
import type { Services } from './services.js';
import { Store } from './store/store.js';
import { Tracer } from './trace/tracer.js';
import { FamilyTrend } from './trend/family-trend.js';
import { Actor } from './web/actor.js';
import { ApiController } from './web/api-controller.js';
import { ApiPageController } from './web/api-page-controller.js';
import { CalculationsController } from './web/calculations-controller.js';
import { EvidenceController } from './web/evidence-controller.js';
import { LotsController } from './web/lots-controller.js';
import { Pages } from './web/pages.js';
import { TraceController } from './web/trace-controller.js';
import { TrendController } from './web/trend-controller.js';
import { LotAssessor } from './workflow/lot-assessor.js';
import { LotOverview } from './workflow/lot-overview.js';
import { RecordIssuer } from './workflow/record-issuer.js';

@Module({})
export class AppModule {}

/**
 * Pages and API over the services that the command line uses too.
 * @param actor who is named in the audit trail for what is done on the pages.
 */
export function applicationOver(services: Services, actor: string): DynamicModule {
  return {
    module: AppModule,
    controllers: [
      LotsController,
      EvidenceController,
      TraceController,
      TrendController,
      CalculationsController,
      ApiPageController,
      ApiController,
    ],
    providers: [
      Pages,
      { provide: Actor, useFactory: () => new Actor(actor) },
      { provide: Store, useFactory: () => services.store },
      { provide: LotAssessor, useFactory: () => services.assessor },
      { provide: RecordIssuer, useFactory: () => services.issuer },
      { provide: Tracer, useFactory: () => services.tracer },
      { provide: FamilyTrend, useFactory: () => services.trend },
      { provide: LotOverview, useFactory: () => services.overview },
    ],
  };
}
