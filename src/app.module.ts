import { type DynamicModule, Module } from '@nestjs/common';
import type { Services } from './services.js';
import { Accounts } from './signing/accounts.js';
import { SigningPreview } from './signing/before-signing.js';
import { LotStandings } from './signing/lot-standing.js';
import { Sessions } from './signing/sessions.js';
import { Signing } from './signing/signing.js';
import { StateActs } from './signing/state-acts.js';
import { WaitingList } from './signing/waiting-list.js';
import { Store } from './store/store.js';
import { Tracer } from './trace/tracer.js';
import { FamilyTrend } from './trend/family-trend.js';
import { AccountController } from './web/account-controller.js';
import { Actor } from './web/actor.js';
import { ApiController } from './web/api-controller.js';
import { ApiPageController } from './web/api-page-controller.js';
import { AuditController } from './web/audit-controller.js';
import { CalculationsController } from './web/calculations-controller.js';
import { EvidenceController } from './web/evidence-controller.js';
import { FindingsController } from './web/findings-controller.js';
import { HealthController } from './web/health-controller.js';
import { IdentityCookie } from './web/identity-cookie.js';
import { LogController } from './web/log-controller.js';
import { LotsController } from './web/lots-controller.js';
import { Pages } from './web/pages.js';
import { PeopleActsController } from './web/people-acts-controller.js';
import { PeopleController } from './web/people-controller.js';
import { SignApiController } from './web/sign-api-controller.js';
import { SignController } from './web/sign-controller.js';
import { SignInApiController } from './web/sign-in-api-controller.js';
import { SignInController } from './web/sign-in-controller.js';
import { SetUpController } from './web/sign-in-set-up-controller.js';
import { StateController } from './web/state-controller.js';
import { TraceController } from './web/trace-controller.js';
import { TrendController } from './web/trend-controller.js';
import { AuditTrail } from './workflow/audit-trail.js';
import { LogRescans } from './workflow/log-rescans.js';
import { LotAssessor } from './workflow/lot-assessor.js';
import { LotOverview } from './workflow/lot-overview.js';
import { RecordIssuer } from './workflow/record-issuer.js';

@Module({})
export class AppModule {}

/** Pages and API over the services that the command line uses too. */
export function applicationOver(services: Services): DynamicModule {
  return {
    module: AppModule,
    controllers: [
      LotsController,
      LogController,
      FindingsController,
      EvidenceController,
      TraceController,
      TrendController,
      AuditController,
      CalculationsController,
      ApiPageController,
      ApiController,
      SignController,
      SignApiController,
      StateController,
      SignInController,
      SignInApiController,
      SetUpController,
      AccountController,
      PeopleController,
      PeopleActsController,
      HealthController,
    ],
    providers: [
      Pages,
      Actor,
      { provide: IdentityCookie, useFactory: () => new IdentityCookie(services.store.key.fingerprint) },
      { provide: Accounts, useFactory: () => services.accounts },
      { provide: Sessions, useFactory: () => services.sessions },
      { provide: Signing, useFactory: () => services.signing },
      { provide: SigningPreview, useFactory: () => services.preview },
      { provide: LotStandings, useFactory: () => services.standings },
      { provide: StateActs, useFactory: () => services.stateActs },
      { provide: WaitingList, useFactory: () => services.waiting },
      { provide: Store, useFactory: () => services.store },
      { provide: LotAssessor, useFactory: () => services.assessor },
      { provide: RecordIssuer, useFactory: () => services.issuer },
      { provide: Tracer, useFactory: () => services.tracer },
      { provide: FamilyTrend, useFactory: () => services.trend },
      { provide: AuditTrail, useFactory: () => services.auditTrail },
      { provide: LogRescans, useFactory: () => services.rescans },
      { provide: LotOverview, useFactory: () => services.overview },
    ],
  };
}
