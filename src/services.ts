import 'reflect-metadata';
import { NestFactory } from '@nestjs/core';
import { AppModule } from './app.module.js';
import { AuditTrail } from './custody/audit-trail.js';
import { Intake } from './intake/intake.js';
import { LogRescans } from './intake/log-rescans.js';
import { CurrentAssessments } from './lots/current-assessments.js';
import { LotAssessor } from './lots/lot-assessor.js';
import { LotOverview } from './lots/lot-overview.js';
import { Accounts } from './people/accounts.js';
import { Sessions } from './people/sessions.js';
import { PackageWriter } from './records/package-writer.js';
import { PaperWriter } from './records/paper-writer.js';
import { RecordIssuer } from './records/record-issuer.js';
import { SigningPreview } from './signing/before-signing.js';
import { LotStandings } from './signing/lot-standing.js';
import { ReviewList } from './signing/review-list.js';
import { Signing } from './signing/signing.js';
import { StateActs } from './signing/state-acts.js';
import { Subjects } from './signing/subjects.js';
import { WaitingList } from './signing/waiting-list.js';
import { DataFolder } from './store/data-folder.js';
import { Store } from './store/store.js';
import { Tracer } from './trace/tracer.js';
import { FamilyTrend } from './trend/family-trend.js';

/** What commands, pages and API share: one of each, over one data folder. */
export interface Services {
  readonly store: Store;
  readonly accounts: Accounts;
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
  readonly trend: FamilyTrend;
  readonly overview: LotOverview;
  readonly auditTrail: AuditTrail;
  readonly rescans: LogRescans;
}

export async function openServices(folder: DataFolder | string): Promise<Services> {
  const context = await NestFactory.createApplicationContext(AppModule.over(folder), {
    logger: false,
    abortOnError: false,
  });
  return {
    store: context.get(Store),
    accounts: context.get(Accounts),
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
    trend: context.get(FamilyTrend),
    overview: context.get(LotOverview),
    auditTrail: context.get(AuditTrail),
    rescans: context.get(LogRescans),
  };
}
