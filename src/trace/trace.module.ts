import { Module } from '@nestjs/common';
import { WebModule } from '../web/web.module.js';
import { TraceController } from './trace-controller.js';
import { Tracer } from './tracer.js';

/** What an identifier leads to, backward and forward. */
@Module({ imports: [WebModule], controllers: [TraceController], providers: [Tracer], exports: [Tracer] })
export class TraceModule {}
