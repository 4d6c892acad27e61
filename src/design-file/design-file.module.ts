import { Module } from '@nestjs/common';
import { IntakeModule } from '../intake/intake.module.js';
import { LotsModule } from '../lots/lots.module.js';
import { Baselines } from './baselines.js';
import { ChangeLists } from './change-lists.js';
import { DesignAnswers } from './design-answers.js';
import { DesignFiles } from './design-files.js';
import { DesignPapers } from './paper/design-papers.js';

const SERVICES = [DesignFiles, DesignAnswers, Baselines, ChangeLists, DesignPapers];

/** The design history of a family: its gaps, what leads from need to test, and what was frozen of it. */
@Module({
  imports: [IntakeModule, LotsModule],
  providers: SERVICES,
  exports: SERVICES,
})
export class DesignFileModule {}
