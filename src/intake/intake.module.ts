import { Module } from '@nestjs/common';
import { Intake } from './intake.js';
import { LogRescans } from './log-rescans.js';

/** Folders and logs into the store. */
@Module({ providers: [Intake, LogRescans], exports: [Intake, LogRescans] })
export class IntakeModule {}
