import { AuditTrail } from './custody/audit-trail.js';
import { Intake } from './intake/intake.js';
import { LogRescans } from './intake/log-rescans.js';
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

/** @param options.assessIn where lots are frozen and assessed: a service does it in a worker, to stay responsive. */
export async function openServices(
  folder: DataFolder | string,
  options: { readonly assessIn?: 'own' | 'worker' } = {},
): Promise<Services> {
  const store = await Store.open(typeof folder === 'string' ? DataFolder.open(folder) : folder);
  const accounts = new Accounts(store);
  const assessor = new LotAssessor(store, options.assessIn);
  const subjects = new Subjects(store, assessor);
  const reviewList = new ReviewList(store);
  return {
    store,
    assessor,
    accounts,
    sessions: new Sessions(store, accounts),
    subjects,
    reviewList,
    standings: new LotStandings(store, reviewList),
    signing: new Signing(store, subjects, reviewList),
    preview: new SigningPreview(store, subjects, accounts, reviewList),
    stateActs: new StateActs(store),
    waiting: new WaitingList(store, accounts),
    intake: new Intake(store),
    issuer: new RecordIssuer(store, assessor),
    packages: new PackageWriter(store),
    papers: new PaperWriter(store, assessor),
    tracer: new Tracer(store),
    trend: new FamilyTrend(store, assessor),
    auditTrail: new AuditTrail(store),
    rescans: new LogRescans(store),
    overview: new LotOverview(store),
  };
}
