import { Module } from '@nestjs/common';
import { WebModule } from '../web/web.module.js';
import { ImpactController } from './impact-controller.js';
import { RecallController } from './recall-controller.js';
import { TraceModule } from './trace.module.js';
import { TraceController } from './trace-controller.js';

/** The page of a trace, apart from it: the command starts without pages. */
@Module({ imports: [WebModule, TraceModule], controllers: [TraceController, ImpactController, RecallController] })
export class TracePagesModule {}
