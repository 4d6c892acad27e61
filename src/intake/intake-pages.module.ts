import { Module } from '@nestjs/common';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { IntakeModule } from './intake.module.js';
import { IntakeController } from './intake-controller.js';
import { KeptReports } from './kept-reports.js';
import { Uploads } from './uploads.js';

/** The page that takes documents in, apart from the intake: the command starts without pages. */
@Module({
  imports: [WebModule, PeopleModule, IntakeModule],
  controllers: [IntakeController],
  providers: [Uploads, KeptReports],
  exports: [KeptReports],
})
export class IntakePagesModule {}
