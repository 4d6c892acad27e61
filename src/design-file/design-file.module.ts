import { Module } from '@nestjs/common';
import { IntakeModule } from '../intake/intake.module.js';
import { Baselines } from './baselines.js';
import { DesignFiles } from './design-files.js';

/** The design history of a family: its gaps, what leads from need to test, and what was frozen of it. */
@Module({ imports: [IntakeModule], providers: [DesignFiles, Baselines], exports: [DesignFiles, Baselines] })
export class DesignFileModule {}
