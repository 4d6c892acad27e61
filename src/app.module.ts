import { type DynamicModule, Module } from '@nestjs/common';
import { ApiController } from './api/api-controller.js';
import { ApiPageController } from './api/api-page-controller.js';
import { CalculationsController } from './calculator/calculations-controller.js';
import { AuditController } from './custody/audit-controller.js';
import { AuditTrail } from './custody/audit-trail.js';
import { EvidenceController } from './desk/evidence-controller.js';
import { FindingsController } from './desk/findings-controller.js';
import { LogController } from './desk/log-controller.js';
import { LotsController } from './desk/lots-controller.js';
import { StateController } from './desk/state-controller.js';
import { LogRescans } from './intake/log-rescans.js';
import { LotAssessor } from './lots/lot-assessor.js';
import { LotOverview } from './lots/lot-overview.js';
import { AccountController } from './people/account-controller.js';
import { Accounts } from './people/accounts.js';
import { Actor } from './people/actor.js';
import { IdentityCookie } from './people/identity-cookie.js';
import { PeopleActsController } from './people/people-acts-controller.js';
import { PeopleController } from './people/people-controller.js';
import { Sessions } from './people/sessions.js';
import { SignInApiController } from './people/sign-in-api-controller.js';
import { SignInController } from './people/sign-in-controller.js';
import { SetUpController } from './people/sign-in-set-up-controller.js';
import { RecordIssuer } from './records/record-issuer.js';
import type { Services } from './services.js';
import { SigningPreview } from './signing/before-signing.js';
import { LotStandings } from './signing/lot-standing.js';
import { SignApiController } from './signing/sign-api-controller.js';
import { SignController } from './signing/sign-controller.js';
import { Signing } from './signing/signing.js';
import { StateActs } from './signing/state-acts.js';
import { WaitingList } from './signing/waiting-list.js';
import { Store } from './store/store.js';
import { TraceController } from './trace/trace-controller.js';
import { Tracer } from './trace/tracer.js';
import { FamilyTrend } from './trend/family-trend.js';
import { TrendController } from './trend/trend-controller.js';
import { HealthController } from './web/health-controller.js';
import { Pages } from './web/pages.js';

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
