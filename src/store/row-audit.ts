import { createHash } from 'node:crypto';
import type Database from 'better-sqlite3';
import { canonicalJson } from '../dossier/canonical.js';
import { LogPart } from '../dossier/schema.js';
import type { LedgerEntry } from '../ledger/entry.js';
import type { LotSummaryFields, Tie } from '../ledger/row-digests.js';
import {
  type EventRow,
  type EvidenceRow,
  type FindingRow,
  faultOfAssessment,
  faultOfDossier,
  faultOfEvent,
  faultOfEvidence,
  faultOfLog,
  faultOfLotSummaries,
  faultOfRecord,
  faultOfResults,
  faultOfRevision,
  faultOfSignature,
  type LogRow,
  type RecordRow,
  type RevisionRow,
  type SignatureRow,
  type TextRow,
} from '../ledger/row-faults.js';
import { type Subject, subjectOfEntry } from '../ledger/subject.js';
import { RESULTS, SUMMARIES } from './sql/bulk.js';
import {
  FINDING_ROWS,
  LINKS,
  LOT_SUMMARY_ROWS,
  PART_THERE,
  placesOf,
  RECORDED_TABLES,
  type RecordedTable,
  rowOf,
  SUMMARY_ROWS,
} from './sql/row-check.js';

export interface InstallationPublicKey {
  readonly fingerprint: string;
  readonly publicPem: string;
}

/** Holds stored rows against the ledger entries that recorded them, entry by entry in the order of the ledger. */
export class RowAudit {
  /** Rows looked at so far. */
  count = 0;
  private readonly places: Places[];
  private readonly links: Database.Statement;
  private readonly summaryRows: Database.Statement;
  private readonly findingRows: Database.Statement;
  private readonly lotSummaryRows: Database.Statement;
  private readonly partThere: Database.Statement;

  /** @param name is told of everything that differs. */
  constructor(
    db: Database.Database,
    private readonly keys: readonly InstallationPublicKey[],
    private readonly name: (subject: Subject, seq: number, says: string) => void,
  ) {
    this.places = RECORDED_TABLES.map((table) => new Places(db, table));
    this.links = db.prepare(LINKS);
    this.summaryRows = db.prepare(SUMMARY_ROWS);
    this.findingRows = db.prepare(FINDING_ROWS);
    this.lotSummaryRows = db.prepare(LOT_SUMMARY_ROWS);
    this.partThere = db.prepare(PART_THERE);
  }

  /** Every row that names an entry up to this one: those of this entry belong to it, others to none. */
  check(seq: number, entry: LedgerEntry | undefined): void {
    const expected = entry && TABLE_OF[entry.type];
    const own: unknown[] = [];
    const results = new ResultHash();
    for (const place of this.places) {
      for (let taken = place.take(seq); taken; taken = place.take(seq)) {
        this.count += 1;
        if (taken.seq !== seq || place.table !== expected) this.addStray(place.table, taken);
        else if (place.table === 'Result') results.add(taken.row as ResultFields);
        else own.push(taken.row);
      }
    }
    if (!entry) return;
    const fault = this.faultOf(entry, own, results);
    if (fault !== undefined) this.name(subjectOfEntry(entry), seq, fault);
  }

  close(): void {
    for (const place of this.places) place.close();
  }

  private addStray(table: RecordedTable, { seq, row }: { seq: number; row: unknown }): void {
    const [kind, key] = row === undefined ? [table, 'whose entry is gone'] : NAME_OF[table](row as never);
    this.name({ kind, key, revision: null }, seq, `it names entry ${seq} of the audit trail, which does not record it`);
  }

  private faultOf(entry: LedgerEntry, rows: readonly unknown[], results: ResultHash): string | undefined {
    switch (entry.type) {
      case 'folder-created':
        return undefined;
      case 'results-recorded':
        return faultOfResults(entry, results.rows());
      case 'lot-summarised': {
        const found = this.lotSummaryRows.all(entry.dossier);
        return faultOfLotSummaries(entry, found as (LotSummaryFields & { lot: string })[]);
      }
      default:
        if (rows.length !== 1) return rows.length === 0 ? 'what was recorded is gone' : 'it is there more than once';
        return this.faultOfOne(entry, rows[0]);
    }
  }

  private faultOfOne(entry: LedgerEntry, row: unknown): string | undefined {
    switch (entry.type) {
      case 'revision-recorded':
        return faultOfRevision(entry, row as RevisionRow, this.tiesOf((row as { id: number }).id));
      case 'evidence-received':
        return faultOfEvidence(entry, row as EvidenceRow);
      case 'log-scanned':
        return this.faultOfLog(entry, row as LogRow & { id: number });
      case 'event-recorded':
        return faultOfEvent(entry, row as EventRow);
      case 'statement-signed':
        return faultOfSignature(entry, row as SignatureRow, this.keyOf);
      case 'dossier-frozen':
        return faultOfDossier(entry, row as TextRow) ?? this.missingPart((row as TextRow).body);
      case 'assessment-made':
        return faultOfAssessment(entry, row as TextRow & { dossierDigest: string; program: string });
      case 'record-issued':
        return faultOfRecord(entry, row as RecordRow);
      default:
        return undefined;
    }
  }

  private readonly keyOf = (fingerprint: string): string | undefined =>
    this.keys.find((key) => key.fingerprint === fingerprint)?.publicPem;

  private tiesOf(revisionId: number): Tie[] {
    const rows = this.links.all(revisionId) as {
      name: string;
      toRevision: number | null;
      massG: string | null;
      toEvidence: string | null;
      kind: string | null;
      key: string | null;
    }[];
    return rows.map(({ name, toRevision, massG, toEvidence, kind, key }) => ({
      name,
      to: toEvidence === null ? { kind: kind ?? '', key: key ?? '' } : { evidence: toEvidence },
      revision: toRevision ?? undefined,
      massG: massG ?? undefined,
    }));
  }

  private faultOfLog(entry: Extract<LedgerEntry, { type: 'log-scanned' }>, row: LogRow & { id: number }) {
    const summaries = new ListHash();
    for (const summary of this.summaryRows.iterate(row.id)) summaries.add(SUMMARIES.rowJson(summary as object));
    const stored = this.findingRows.all(row.id) as FindingRow[];
    const part = LogPart.safeParse(JSON.parse(row.part));
    const scanned = (part.data?.findings ?? []).map((finding) => ({
      ...finding,
      identity: finding.id,
      channel: finding.channel ?? null,
      body: canonicalJson(finding),
    }));
    return faultOfLog(entry, row, summaries.digest(), { stored, scanned });
  }

  private missingPart(body: string): string | undefined {
    const { parts = [] } = JSON.parse(body) as { parts?: { sha256: string }[] };
    const lost = parts.find(({ sha256 }) => this.partThere.get(sha256) === undefined);
    return lost && `its part ${lost.sha256} is gone`;
  }
}

/** Rows of one table in the order of the ledger. */
class Places {
  private readonly rows: IterableIterator<{ place: number; seq: number }>;
  private next: { place: number; seq: number } | undefined;
  private readonly fetch: Database.Statement;

  constructor(
    db: Database.Database,
    readonly table: RecordedTable,
  ) {
    this.rows = db.prepare(placesOf(table)).iterate() as IterableIterator<{ place: number; seq: number }>;
    this.fetch = db.prepare(rowOf(table));
    this.advance();
  }

  private advance(): void {
    this.next = this.rows.next().value as { place: number; seq: number } | undefined;
  }

  close(): void {
    this.rows.return?.();
  }

  /** The next row that names an entry up to `seq`. A row that cannot be fetched has lost what it belongs to. */
  take(seq: number): { seq: number; row: unknown } | undefined {
    if (this.next === undefined || this.next.seq > seq) return undefined;
    const found = { seq: this.next.seq, row: this.fetch.get(this.next.place) };
    this.advance();
    return found;
  }
}

/** SHA-256 of a JSON list, item by item. */
class ListHash {
  private readonly hash = createHash('sha256').update('[');
  count = 0;

  add(json: string): void {
    this.hash.update(this.count === 0 ? json : `,${json}`);
    this.count += 1;
  }

  digest(): string {
    return this.hash.update(']').digest('hex');
  }
}

interface ResultFields {
  readonly lot: string;
  readonly recordedAt: string;
  readonly replacesId: number | null;
}

class ResultHash {
  private list: ListHash | undefined;
  private corrections = 0;
  private readonly lots = new Set<string>();
  private readonly times = new Set<string>();

  add(row: ResultFields): void {
    this.list ??= new ListHash();
    this.list.add(RESULTS.rowJson(row));
    if (row.replacesId !== null) this.corrections += 1;
    this.lots.add(row.lot);
    this.times.add(row.recordedAt);
  }

  rows() {
    const { corrections, lots, times } = this;
    return { count: this.list?.count ?? 0, digest: this.list?.digest() ?? '', corrections, lots, times };
  }
}

const TABLE_OF: Record<LedgerEntry['type'], RecordedTable | null> = {
  'folder-created': null,
  'revision-recorded': 'Revision',
  'evidence-received': 'Evidence',
  'results-recorded': 'Result',
  'log-scanned': 'LogFile',
  'event-recorded': 'Event',
  'statement-signed': 'Signature',
  'dossier-frozen': 'Dossier',
  'assessment-made': 'Assessment',
  'lot-summarised': null,
  'record-issued': 'Record',
};

/** How a row is named that no entry records. */
const NAME_OF: Record<RecordedTable, (row: Record<string, string>) => [kind: string, key: string]> = {
  Revision: (row) => [row.kind!, `${row.key}, revision ${row.number}`],
  Evidence: (row) => ['evidence', row.sha256!],
  Result: (row) => ['result', `${row.characteristic} of ${row.specimen}, lot ${row.lot}`],
  LogFile: (row) => ['log of build', row.build!],
  Event: (row) => [row.subjectKind!, `${row.subjectKey} (${row.type})`],
  Signature: (row) => [row.subjectKind!, `${row.subjectKey} (${row.meaning} by ${row.person})`],
  Dossier: (row) => ['lot file of lot', row.lot!],
  Assessment: (row) => ['assessment of lot', row.lot!],
  Record: (row) => ['record', `${row.number}, revision ${row.revision}`],
};
