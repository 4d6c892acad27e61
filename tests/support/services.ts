import 'reflect-metadata';
import { NestFactory } from '@nestjs/core';
import { AppModule } from '../../src/app.module.js';
import { systemClock } from '../../src/base/clock.js';
import { AuditTrail } from '../../src/custody/audit-trail.js';
import { DesignAnswers } from '../../src/design-file/design-answers.js';
import { DesignPapers } from '../../src/design-file/paper/design-papers.js';
import { Intake } from '../../src/intake/intake.js';
import { LogRescans } from '../../src/intake/log-rescans.js';
import { CurrentAssessments } from '../../src/lots/current-assessments.js';
import { FamilyStudies } from '../../src/lots/family-studies.js';
import { LotAssessor } from '../../src/lots/lot-assessor.js';
import { LotOverview } from '../../src/lots/lot-overview.js';
import { AccountActs } from '../../src/people/account-acts.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { Sessions } from '../../src/people/sessions.js';
import { PackageWriter } from '../../src/records/package-writer.js';
import { PaperWriter } from '../../src/records/paper-writer.js';
import { RecordIssuer } from '../../src/records/record-issuer.js';
import { SigningPreview } from '../../src/signing/before-signing.js';
import { LotStandings } from '../../src/signing/lot-standing.js';
import { ReviewList } from '../../src/signing/review-list.js';
import { Signing } from '../../src/signing/signing.js';
import { StateActs } from '../../src/signing/state-acts.js';
import { Subjects } from '../../src/signing/subjects.js';
import { WaitingList } from '../../src/signing/waiting-list.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { AnswerIssuer } from '../../src/trace/answer-issuer.js';
import { Impacts } from '../../src/trace/impacts.js';
import { Tracer } from '../../src/trace/tracer.js';
import { CapabilityStating } from '../../src/trend/capability-stating.js';
import { FamilyTrend } from '../../src/trend/family-trend.js';
import { makeFreshFolder } from './fresh-folder.js';
import { CHEAPEST } from './people.js';

/** What tests take from the features: one of each, over one data folder. Whoever opens them closes the store. */
export interface Services {
  readonly store: Store;
  readonly accounts: Accounts;
  readonly accountActs: AccountActs;
  readonly accountLinks: AccountLinks;
  readonly sessions: Sessions;
  readonly subjects: Subjects;
  readonly signing: Signing;
  readonly preview: SigningPreview;
  readonly reviewList: ReviewList;
  readonly standings: LotStandings;
  readonly stateActs: StateActs;
  readonly waiting: WaitingList;
  readonly intake: Intake;
  readonly current: CurrentAssessments;
  readonly assessor: LotAssessor;
  readonly issuer: RecordIssuer;
  readonly packages: PackageWriter;
  readonly papers: PaperWriter;
  readonly tracer: Tracer;
  readonly impacts: Impacts;
  readonly answers: AnswerIssuer;
  readonly trend: FamilyTrend;
  readonly studies: FamilyStudies;
  readonly stating: CapabilityStating;
  readonly overview: LotOverview;
  readonly auditTrail: AuditTrail;
  readonly rescans: LogRescans;
  readonly designs: DesignAnswers;
  readonly designPapers: DesignPapers;
}

/** @param folder a path that is absent or empty becomes a fresh data folder. */
export async function openServices(folder: DataFolder | string): Promise<Services> {
  if (typeof folder === 'string') await makeFreshFolder(folder);
  const context = await NestFactory.createApplicationContext(AppModule.over(folder), {
    logger: false,
    abortOnError: false,
  });
  return {
    store: context.get(Store),
    accounts: context.get(Accounts),
    accountActs: context.get(AccountActs),
    accountLinks: new AccountLinks(context.get(Store), context.get(Accounts), systemClock, CHEAPEST),
    sessions: context.get(Sessions),
    subjects: context.get(Subjects),
    signing: context.get(Signing),
    preview: context.get(SigningPreview),
    reviewList: context.get(ReviewList),
    standings: context.get(LotStandings),
    stateActs: context.get(StateActs),
    waiting: context.get(WaitingList),
    intake: context.get(Intake),
    current: context.get(CurrentAssessments),
    assessor: context.get(LotAssessor),
    issuer: context.get(RecordIssuer),
    packages: context.get(PackageWriter),
    papers: context.get(PaperWriter),
    tracer: context.get(Tracer),
    impacts: context.get(Impacts),
    answers: context.get(AnswerIssuer),
    trend: context.get(FamilyTrend),
    studies: context.get(FamilyStudies),
    stating: context.get(CapabilityStating),
    overview: context.get(LotOverview),
    auditTrail: context.get(AuditTrail),
    rescans: context.get(LogRescans),
    designs: context.get(DesignAnswers),
    designPapers: context.get(DesignPapers),
  };
}
