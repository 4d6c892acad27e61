import { Module } from '@nestjs/common';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { ExportController } from './export-controller.js';
import { IntakeModule } from './intake.module.js';
import { IntakeController } from './intake-controller.js';
import { KeptReports } from './kept-reports.js';
import { PageSender } from './page-sender.js';
import { StagedApiController } from './staged-api-controller.js';
import { StagedController } from './staged-controller.js';
import { StagedJobs } from './staged-jobs.js';
import { Staging } from './staging.js';
import { Uploads } from './uploads.js';

/** The page that takes documents in, apart from the intake: the command starts without pages. */
@Module({
  imports: [WebModule, PeopleModule, IntakeModule],
  controllers: [IntakeController, ExportController, StagedController, StagedApiController],
  providers: [Uploads, KeptReports, Staging, StagedJobs, PageSender],
  exports: [KeptReports],
})
export class IntakePagesModule {}
