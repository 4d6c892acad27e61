import { Module } from '@nestjs/common';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { PeopleModule } from '../people/people.module.js';
import { WebModule } from '../web/web.module.js';
import { AuditorController } from './auditor-controller.js';
import { CallBackController } from './call-back-controller.js';
import { ImpactController } from './impact-controller.js';
import { KeptImpacts } from './kept-impacts.js';
import { RecallModule } from './recall.module.js';
import { RecallController } from './recall-controller.js';
import { TraceController } from './trace-controller.js';

/** The page of a trace, apart from it: the command starts without pages. */
@Module({
  imports: [WebModule, PeopleModule, RecallModule],
  providers: [CurrentAssessments, KeptImpacts],
  controllers: [TraceController, ImpactController, CallBackController, RecallController, AuditorController],
})
export class TracePagesModule {}
