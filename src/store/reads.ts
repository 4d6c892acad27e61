import type { Db } from './db.js';
import { Entries } from './entries.js';
import { Events } from './events.js';
import { EvidenceRows } from './evidence-rows.js';
import { IdentityReads } from './identity-rows.js';
import { LedgerRows } from './ledger-rows.js';
import { Logs } from './logs.js';
import { Assessments, LotFiles } from './lot-files.js';
import { Records } from './records.js';
import { Results } from './results.js';
import { ScanJobReads } from './scan-job-rows.js';
import { Signatures } from './signatures.js';
import { Traces } from './traces.js';
import { Trail } from './trail.js';

/** Everything that can be read, one repository for each aggregate; the same outside a change and inside one. */
export class Reads {
  readonly entries: Entries;
  readonly evidence: EvidenceRows;
  readonly results: Results;
  readonly logs: Logs;
  readonly lotFiles: LotFiles;
  readonly assessments: Assessments;
  readonly records: Records;
  readonly events: Events;
  readonly signatures: Signatures;
  readonly identity: IdentityReads;
  readonly scanJobs: ScanJobReads;
  readonly trace: Traces;
  readonly ledger: LedgerRows;
  /** The audit trail as people read it. */
  readonly trail: Trail;

  constructor(db: Db) {
    this.entries = new Entries(db);
    this.evidence = new EvidenceRows(db);
    this.results = new Results(db);
    this.logs = new Logs(db);
    this.lotFiles = new LotFiles(db);
    this.assessments = new Assessments(db);
    this.records = new Records(db);
    this.events = new Events(db);
    this.signatures = new Signatures(db);
    this.identity = new IdentityReads(db);
    this.scanJobs = new ScanJobReads(db);
    this.trace = new Traces(db);
    this.ledger = new LedgerRows(db);
    this.trail = new Trail(db);
  }
}
