import { CapabilityStatements } from './capability-statements.js';
import type { Db } from './db.js';
import { DraftRows } from './draft-rows.js';
import { Entries } from './entries.js';
import type { EventGuard } from './event-guard.js';
import type { EventRow } from './event-row.js';
import { Events } from './events.js';
import { EvidenceRows } from './evidence-rows.js';
import { Histories } from './histories.js';
import { Identified } from './identified.js';
import { Identity } from './identity-rows.js';
import { KeptViews } from './kept-views.js';
import { LeaseRows } from './lease-rows.js';
import { LedgerRows } from './ledger-rows.js';
import { Logs } from './logs.js';
import { Assessments, LotFiles } from './lot-files.js';
import { RateRows } from './rate-rows.js';
import type { Recorder } from './recorder.js';
import { Records } from './records.js';
import { Results } from './results.js';
import { ScanJobRows } from './scan-job-rows.js';
import { Signatures } from './signatures.js';
import { Traces } from './traces.js';
import { Trail } from './trail.js';

/**
 * One repository for each aggregate. All of them read; inside a change they store too, each thing with the ledger entry
 * that belongs to it.
 */
class Repositories<R> {
  readonly entries: Entries<R>;
  readonly evidence: EvidenceRows<R>;
  readonly results: Results<R>;
  readonly logs: Logs<R>;
  readonly lotFiles: LotFiles<R>;
  readonly assessments: Assessments<R>;
  readonly histories: Histories<R>;
  readonly keptViews: KeptViews<R>;
  readonly records: Records<R>;
  readonly capabilityStatements: CapabilityStatements<R>;
  readonly events: Events<R>;
  readonly signatures: Signatures<R>;
  readonly identity: Identity<R>;
  readonly drafts: DraftRows<R>;
  readonly scanJobs: ScanJobRows<R>;
  readonly leases: LeaseRows<R>;
  readonly rates: RateRows<R>;
  readonly trace: Traces;
  readonly identified: Identified;
  readonly ledger: LedgerRows<R>;
  /** The audit trail as people read it. */
  readonly trail: Trail;

  constructor(db: Db<R>, guard: (rows: readonly EventRow[]) => Promise<void>) {
    this.entries = new Entries(db);
    this.evidence = new EvidenceRows(db);
    this.results = new Results(db);
    this.logs = new Logs(db);
    this.lotFiles = new LotFiles(db);
    this.assessments = new Assessments(db);
    this.histories = new Histories(db);
    this.keptViews = new KeptViews(db);
    this.records = new Records(db);
    this.capabilityStatements = new CapabilityStatements(db);
    this.events = new Events(db, guard);
    this.signatures = new Signatures(db);
    this.identity = new Identity(db);
    this.drafts = new DraftRows(db);
    this.scanJobs = new ScanJobRows(db);
    this.leases = new LeaseRows(db);
    this.rates = new RateRows(db);
    this.trace = new Traces(db);
    this.identified = new Identified(db);
    this.ledger = new LedgerRows(db);
    this.trail = new Trail(db);
  }
}

/** Everything that can be read, outside a change or inside one. */
export type Reads = Repositories<unknown>;

/** What a change under way sees, and where it stores. */
export type Change = Repositories<Recorder>;

export const readingFrom = (db: Db, guard: EventGuard): Reads =>
  new Repositories(db, (rows) => guard.refuseOthers(db, rows));

export const changing = (db: Db<Recorder>, guard: EventGuard): Change =>
  new Repositories(db, (rows) => guard.refuseOthersWithin(db, rows));
