import { Module } from '@nestjs/common';
import { Tracer } from './tracer.js';

/** What an identifier leads to, backward and forward. */
@Module({ providers: [Tracer], exports: [Tracer] })
export class TraceModule {}
