import { Module } from '@nestjs/common';
import { DesignFileModule } from '../design-file/design-file.module.js';
import { IntakeModule } from '../intake/intake.module.js';
import { IntakePagesModule } from '../intake/intake-pages.module.js';
import { LotsModule } from '../lots/lots.module.js';
import { PeopleModule } from '../people/people.module.js';
import { RecordsModule } from '../records/records.module.js';
import { SigningModule } from '../signing/signing.module.js';
import { WebModule } from '../web/web.module.js';
import { Ahead } from './ahead.js';
import { AssessAgainController } from './assess-again-controller.js';
import { CautionsController } from './cautions-controller.js';
import { ChangedVerdictsController } from './changed-verdicts-controller.js';
import { EvidenceController } from './evidence-controller.js';
import { FindingsController } from './findings-controller.js';
import { LogController } from './log-controller.js';
import { LotController } from './lot-controller.js';
import { LotFrames } from './lot-frame.js';
import { MaterialsController } from './materials-controller.js';
import { NonconformitiesController } from './nonconformities-controller.js';
import { PartsController } from './parts-controller.js';
import { ReceiptController } from './receipt-controller.js';
import { ResultsController } from './results-controller.js';
import { StateController } from './state-controller.js';
import { TakenInController } from './taken-in-controller.js';
import { CustodyDuties } from './today/custody-duties.js';
import { Duties } from './today/duties.js';
import { ReleaseSummaries } from './today/release-summaries.js';
import { TodayController } from './today-controller.js';

/** Pages where all about a lot comes together. */
@Module({
  imports: [
    WebModule,
    PeopleModule,
    IntakeModule,
    IntakePagesModule,
    LotsModule,
    SigningModule,
    RecordsModule,
    DesignFileModule,
  ],
  controllers: [
    TodayController,
    CautionsController,
    MaterialsController,
    PartsController,
    LotController,
    LogController,
    FindingsController,
    NonconformitiesController,
    ResultsController,
    EvidenceController,
    ReceiptController,
    StateController,
    TakenInController,
    ChangedVerdictsController,
    AssessAgainController,
  ],
  providers: [Ahead, LotFrames, Duties, CustodyDuties, ReleaseSummaries],
})
export class DeskModule {}
