import { AppError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { LogFacts, LogPart } from '../dossier/schema.js';
import { namedFirst, type SignedStatement } from '../dossier/statement.js';
import type { ResultRow, SummaryRow } from '../dossier/tables.js';
import { Event, subjectOfEvent } from '../ledger/event.js';
import type { Db } from './db.js';
import { IdentityRows } from './identity-rows.js';
import { Reads } from './reads.js';
import type { NewRows, Recorder } from './recorder.js';
import { ScanJobRows } from './scan-job-rows.js';

export interface NewLink {
  readonly name: string;
  readonly to: { readonly kind: string; readonly key: string } | { readonly evidence: string };
  readonly revision?: number | undefined;
  readonly massG?: string | undefined;
}

export interface NewRevision {
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  readonly body: unknown;
  readonly links: readonly NewLink[];
  /** For documents that carry their own number; running entries get the next one. */
  readonly number?: number | undefined;
  readonly reason?: string | undefined;
}

/** A result as intake hands it over; the store adds when it was recorded. */
export type NewResult = Omit<ResultRow, 'recordedAt' | 'status'> & { readonly replacesId?: number | undefined };

/** The writing side of one change. Every method appends the ledger entry that belongs to what it stores. */
export class Writer {
  private readonly entryIds = new Map<string, number>();
  /** What is there, as this change sees it: it cannot move meanwhile. */
  readonly read: Reads;
  /** Sessions and failed proofs: they change in place and make no entry. */
  readonly identity: IdentityRows;
  /** Scans of logs under way: likewise. */
  readonly scanJobs: ScanJobRows;

  constructor(
    private readonly db: Db,
    private readonly recorder: Recorder,
  ) {
    this.read = new Reads(db);
    this.identity = new IdentityRows(db.client);
    this.scanJobs = new ScanJobRows(db.client);
  }

  /**
   * Takes the lock row: the first statement of every change, so that a second writer waits here and not after it has read.
   * @returns how many entries the ledger holds, and the signed head that the last change left.
   * @throws AppError ALTERED when the ledger is shorter or longer than it was left.
   */
  static async takeLock({ client: tx }: Db): Promise<{ size: number; head: string | null }> {
    const taken = await tx.ledgerLock.updateMany({ where: { id: 1 }, data: { size: { increment: 0 } } });
    if (taken.count === 0) await tx.ledgerLock.create({ data: { id: 1, size: 0 } });
    const { size, head } = await tx.ledgerLock.findUniqueOrThrow({ where: { id: 1 } });
    const last = await tx.ledgerEntry.findFirst({ orderBy: { seq: 'desc' }, select: { seq: true } });
    if (size !== (last?.seq ?? 0)) {
      throw new AppError(
        'ALTERED',
        `the ledger ends at entry ${last?.seq ?? 0} but was left at ${size}: somebody changed the database from outside`,
      );
    }
    return { size, head };
  }

  /** Entries in the ledger, with those of this change. */
  get ledgerSize(): number {
    return this.recorder.ledgerSize;
  }

  async recordFolder(program: string): Promise<void> {
    if (this.ledgerSize === 0) await this.recorder.record({ type: 'folder-created', program }, {});
  }

  async recordEvent(event: Event, reason?: string): Promise<void> {
    const body = canonicalJson(Event.parse(event));
    const subject = subjectOfEvent(event);
    const why = reason === undefined ? {} : { reason };
    await this.recorder.record(
      { type: 'event-recorded', event: event.type, subject, ...why },
      { Event: [{ type: event.type, subjectKind: subject.kind, subjectKey: subject.key, body, reason }] },
    );
  }

  async recordSignature({ statement, digest, signature }: SignedStatement): Promise<void> {
    const { meaning, subjects } = statement;
    const person = statement.person.code;
    const subject = namedFirst(statement);
    await this.recorder.record(
      { type: 'statement-signed', meaning, subject, subjects: subjects.length, person, digest },
      {
        Signature: [{ digest, meaning, person, statement: canonicalJson(statement), signature }],
        SignatureSubject: subjects.map((item) => ({ ...item, signature: digest })),
      },
    );
  }

  async recordRevision({ kind, key, name, reason, ...given }: NewRevision): Promise<number> {
    const body = canonicalJson(given.body);
    const digest = sha256Hex(body);
    const number = given.number ?? ((await this.read.entries.current(kind, key))?.revision ?? 0) + 1;
    const entries = new NewEntries(await this.recorder.nextId('Entry'));
    const entryId = await this.entryId(kind, key, entries);
    const fromRevisionId = await this.recorder.nextId('Revision');
    const links: NonNullable<NewRows['Link']>[number][] = [];
    for (const { name: tie, to, revision, massG } of given.links) {
      const target =
        'evidence' in to ? { toEvidence: to.evidence } : { toEntryId: await this.entryId(to.kind, to.key, entries) };
      links.push({ fromRevisionId, name: tie, toRevision: revision, massG, ...target });
    }
    const why = reason === undefined ? {} : { reason };
    await this.recorder.record(
      { type: 'revision-recorded', kind, key, revision: number, digest, ...why },
      { Entry: entries.rows, Revision: [{ entryId, number, name, body, digest, reason }], Link: links },
    );
    return number;
  }

  /** The number of an entry. One that is not there yet gets the next, and is stored with the revision that first names it. */
  private async entryId(kind: string, key: string, fresh: NewEntries): Promise<number> {
    const name = `${kind} ${key}`;
    const known = this.entryIds.get(name);
    if (known !== undefined) return known;
    const found = await this.db.client.entry.findUnique({ where: { kind_key: { kind, key } }, select: { id: true } });
    const id = found?.id ?? fresh.add(kind, key);
    this.entryIds.set(name, id);
    return id;
  }

  async recordEvidence(file: { sha256: string; bytes: number; fileName: string }): Promise<void> {
    if (await this.read.evidence.knows(file.sha256)) return;
    await this.recorder.record({ type: 'evidence-received', ...file }, { Evidence: [file] });
  }

  async recordResults(lot: string, file: string, rows: readonly NewResult[]): Promise<void> {
    if (rows.length === 0) return;
    const corrections = rows.filter((row) => row.replacesId !== undefined).length;
    await this.recorder.record(
      { type: 'results-recorded', lot, file, rows: rows.length, corrections },
      { Result: rows },
      { lot },
    );
  }

  async recordLogScan(lot: string, facts: LogFacts, part: LogPart, summaries: readonly SummaryRow[]): Promise<void> {
    const { build, fileName, sha256: evidence, planSha256, scanner } = facts;
    const logFileId = await this.recorder.nextId('LogFile');
    const texts = { facts: canonicalJson(facts), part: canonicalJson(part) };
    await this.recorder.record(
      { type: 'log-scanned', lot, build, evidence, planSha256, scanner, findings: part.findings.length },
      {
        LogFile: [{ lot, build, fileName, evidence, planSha256, scanner, ...texts }],
        LogSummary: summaries,
        Finding: part.findings.map((finding) => ({ ...finding, identity: finding.id, body: canonicalJson(finding) })),
      },
      { logFileId },
    );
  }

  /** Stores a frozen dossier with its parts. The same facts give the same digest and store nothing. */
  async recordDossier(
    lot: string,
    digest: string,
    body: string,
    parts: ReadonlyMap<string, { mediaType: string; text: string }>,
  ): Promise<void> {
    if (await this.db.client.dossier.findUnique({ where: { digest } })) return;
    const fresh: NonNullable<NewRows['Part']>[number][] = [];
    for (const [sha256, { mediaType, text }] of parts) {
      if (await this.db.client.part.findUnique({ where: { sha256 }, select: { sha256: true } })) continue;
      fresh.push({ sha256, mediaType, body: text });
    }
    await this.recorder.record(
      { type: 'dossier-frozen', lot, digest },
      { Dossier: [{ digest, lot, body }], Part: fresh },
    );
  }

  async recordAssessment(lot: string, dossier: string, program: string, body: string): Promise<string> {
    const digest = sha256Hex(body);
    if (await this.db.client.assessment.findUnique({ where: { digest } })) return digest;
    await this.recorder.record(
      { type: 'assessment-made', lot, dossier, digest, program },
      { Assessment: [{ digest, dossierDigest: dossier, lot, program, body }] },
    );
    return digest;
  }

  /** What trends need of a lot, once for each of its dossiers. */
  async recordLotSummaries(rows: NonNullable<NewRows['LotSummary']>): Promise<void> {
    const [first] = rows;
    if (!first) return;
    const { lot, dossierDigest } = first;
    if (await this.db.client.lotSummary.findFirst({ where: { dossierDigest }, select: { id: true } })) return;
    const entry = { type: 'lot-summarised', lot, dossier: dossierDigest, rows: rows.length } as const;
    await this.recorder.record(entry, { LotSummary: rows });
  }

  async recordIssuedRecord(record: {
    number: string;
    revision: number;
    lot: string;
    dossierDigest: string;
    enclosure: string;
    fileSha256: string;
  }): Promise<void> {
    const { number, revision, lot, dossierDigest: dossier, enclosure, fileSha256 } = record;
    const enclosureDigest = sha256Hex(enclosure);
    await this.recorder.record(
      { type: 'record-issued', number, revision, lot, dossier, enclosure: enclosureDigest, fileSha256 },
      { Record: [{ ...record, enclosureDigest }] },
    );
  }
}

/** Entries that a revision names first, its own among them. */
class NewEntries {
  readonly rows: { readonly kind: string; readonly key: string }[] = [];

  constructor(private readonly firstId: number) {}

  /** @returns the number that it gets. */
  add(kind: string, key: string): number {
    return this.firstId + this.rows.push({ kind, key }) - 1;
  }
}
