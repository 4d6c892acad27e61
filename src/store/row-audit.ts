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
  type SignatureSubjectRow,
  type TextRow,
} from '../ledger/row-faults.js';
import { type Subject, subjectOfEntry } from '../ledger/subject.js';
import { RESULTS, SUMMARIES } from './sql/bulk.js';
import {
  FINDING_ROWS,
  LINKS,
  LOT_SUMMARY_ROWS,
  PART_TYPE,
  placeRange,
  placesOf,
  RECORDED_TABLES,
  type RecordedTable,
  rowOf,
  SIGNATURE_SUBJECT_ROWS,
  SUMMARY_ROWS,
  seqAtPlace,
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
  private readonly partType: Database.Statement;
  private readonly subjectRows: Database.Statement;

  /** @param name is told of everything that differs. */
  constructor(
    db: Database.Database,
    private readonly keys: readonly InstallationPublicKey[],
    private readonly name: (subject: Subject, seq: number | null, says: string) => void,
  ) {
    this.places = RECORDED_TABLES.map((table) => new Places(db, table, name));
    this.links = db.prepare(LINKS);
    this.summaryRows = db.prepare(SUMMARY_ROWS);
    this.findingRows = db.prepare(FINDING_ROWS);
    this.lotSummaryRows = db.prepare(LOT_SUMMARY_ROWS);
    this.partType = db.prepare(PART_TYPE);
    this.subjectRows = db.prepare(SIGNATURE_SUBJECT_ROWS);
  }

  /** Every row that names an entry up to this one: those of this entry belong to it, others to none. */
  check(seq: number, entry: LedgerEntry | undefined): void {
    const expected = entry && TABLE_OF[entry.type];
    const own: unknown[] = [];
    const results = new ResultHash();
    let unreadable: string | undefined;
    for (const place of this.places) {
      for (let taken = place.take(seq); taken; taken = place.take(seq)) {
        this.count += 1;
        const isOwn = taken.seq === seq && place.table === expected;
        if (isOwn && taken.fault !== undefined) unreadable = taken.fault;
        else if (!isOwn) this.addStray(place.table, taken);
        else if (place.table === 'Result') results.add(taken.row as ResultFields);
        else own.push(taken.row);
      }
    }
    if (!entry) return;
    const fault = unreadable ?? this.faultOf(entry, own, results);
    if (fault !== undefined) this.name(subjectOfEntry(entry), seq, fault);
  }

  close(): void {
    for (const place of this.places) place.close();
  }

  private addStray(table: RecordedTable, { seq, row, fault }: TakenRow): void {
    const [kind, key] = row === undefined ? [table, 'whose entry is gone'] : NAME_OF[table](row as never);
    const says = fault ?? `it names entry ${seq} of the audit trail, which does not record it`;
    this.name({ kind, key, revision: null }, seq, says);
  }

  /** Whatever a damaged text or page does to the comparison, it is a fault of this row and of no other. */
  private faultOf(entry: LedgerEntry, rows: readonly unknown[], results: ResultHash): string | undefined {
    try {
      return this.differenceOf(entry, rows, results);
    } catch (error) {
      return unreadableBy(error);
    }
  }

  private differenceOf(entry: LedgerEntry, rows: readonly unknown[], results: ResultHash): string | undefined {
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
        return faultOfSignature(entry, row as SignatureRow, this.subjectsOf(row as SignatureRow), this.keyOf);
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

  private subjectsOf({ digest }: SignatureRow): SignatureSubjectRow[] {
    return this.subjectRows.all(digest) as SignatureSubjectRow[];
  }

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
    const { parts } = JSON.parse(body) as { parts: { sha256: string; mediaType: string }[] };
    for (const { sha256, mediaType } of parts) {
      const found = this.partType.get(sha256) as { mediaType: string } | undefined;
      if (found === undefined) return `its part ${sha256} is gone`;
      if (found.mediaType !== mediaType) return `its part ${sha256} is kept as "${found.mediaType}"`;
    }
    return undefined;
  }
}

const unreadableBy = (error: unknown): string => `it cannot be read: ${(error as Error).message}`;

interface PlaceOfRow {
  readonly place: number;
  readonly seq: number;
}

interface TakenRow {
  readonly seq: number;
  /** Undefined when the row cannot be fetched: it has lost what it belongs to, or `fault` says what is wrong. */
  readonly row: unknown;
  readonly fault?: string;
}

/** Rows of one table in the order of the ledger. */
class Places {
  private rows: Iterator<PlaceOfRow>;
  private next: PlaceOfRow | undefined;
  private readonly fetch: Database.Statement;

  /** @param name is told of rows whose place in the ledger cannot be read. */
  constructor(
    private readonly db: Database.Database,
    readonly table: RecordedTable,
    private readonly name: (subject: Subject, seq: null, says: string) => void,
  ) {
    this.rows = db.prepare(placesOf(table)).iterate() as IterableIterator<PlaceOfRow>;
    this.fetch = db.prepare(rowOf(table));
    try {
      this.advance();
    } catch {
      // SQLite sorts before it gives the first row, so that one damaged page stands in the way of all.
      this.rows = this.oneByOne()[Symbol.iterator]();
      this.advance();
    }
  }

  /** Places of a table with damaged pages, each asked for by itself; the memory for them grows with the table. */
  private oneByOne(): PlaceOfRow[] {
    const { first, last } = this.db.prepare(placeRange(this.table)).get() as { first: number; last: number };
    const seqAt = this.db.prepare(seqAtPlace(this.table));
    const found: PlaceOfRow[] = [];
    for (let place = first; place <= last; place += 1) {
      try {
        const row = seqAt.get(place) as { seq: number } | undefined;
        if (row) found.push({ place, seq: row.seq });
      } catch (error) {
        this.name({ kind: this.table, key: `row ${place}`, revision: null }, null, unreadableBy(error));
      }
    }
    return found.sort((a, b) => a.seq - b.seq || a.place - b.place);
  }

  private advance(): void {
    this.next = this.rows.next().value as PlaceOfRow | undefined;
  }

  close(): void {
    this.rows.return?.();
  }

  /** The next row that names an entry up to `seq`. */
  take(seq: number): TakenRow | undefined {
    if (this.next === undefined || this.next.seq > seq) return undefined;
    const { place, seq: own } = this.next;
    this.advance();
    try {
      return { seq: own, row: this.fetch.get(place) };
    } catch (error) {
      return { seq: own, row: undefined, fault: unreadableBy(error) };
    }
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
  Signature: (row) => ['statement', `${row.digest} (${row.meaning} by ${row.person})`],
  Dossier: (row) => ['lot file of lot', row.lot!],
  Assessment: (row) => ['assessment of lot', row.lot!],
  Record: (row) => ['record', `${row.number}, revision ${row.revision}`],
};
