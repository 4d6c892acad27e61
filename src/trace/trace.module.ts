import { Module } from '@nestjs/common';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotOverview } from '../lots/lot-overview.js';
import { AnswerIssuer } from './answer-issuer.js';
import { AuditorAnswers } from './auditor-answers.js';
import { Impacts } from './impacts.js';
import { Tracer } from './tracer.js';

/** What an identifier leads to, backward and forward. */
@Module({
  providers: [Tracer, Impacts, AnswerIssuer, AuditorAnswers, CurrentAssessments, LotOverview],
  exports: [Tracer, Impacts, AnswerIssuer, AuditorAnswers],
})
export class TraceModule {}
