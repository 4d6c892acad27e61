import { Module } from '@nestjs/common';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { Tracer } from './tracer.js';

/** What an identifier leads to, backward and forward. */
@Module({ providers: [Tracer, CurrentAssessments], exports: [Tracer] })
export class TraceModule {}
