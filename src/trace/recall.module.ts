import { Module } from '@nestjs/common';
import { IntakeModule } from '../intake/intake.module.js';
import { TraceModule } from './trace.module.js';

/** A recall is begun from a trace, and taken in: a trace by itself takes nothing in. */
@Module({ imports: [TraceModule, IntakeModule], exports: [TraceModule, IntakeModule] })
export class RecallModule {}
