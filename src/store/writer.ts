import { type Clock, type Stamp, stamp } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { LogFacts, LogPart } from '../dossier/schema.js';
import { namedFirst, type SignedStatement } from '../dossier/statement.js';
import type { ResultRow, SummaryRow } from '../dossier/tables.js';
import { type LedgerDraft, LedgerEntry } from '../ledger/entry.js';
import { Event, type RecordedEvent, subjectOfEvent } from '../ledger/event.js';
import { type LotSummaryFields, logScanDigest, lotSummariesDigest, tiesDigest } from '../ledger/row-digests.js';
import { type GrowingTree, leafHash } from '../ledger/tree.js';
import { type CaseUnit, unitsOfCaseIn } from './case-rows.js';
import type { Prisma } from './generated/client.js';
import { IdentityRows } from './identity-rows.js';
import {
  eventsIn,
  installationKeysIn,
  type RecordedSignature,
  signaturesBy,
  signaturesStarting,
} from './people-rows.js';
import { ScanJobRows } from './scan-job-rows.js';
import {
  FINDINGS,
  LEDGER_ENTRY_INSERT,
  LEDGER_HEAD_UPDATE,
  LEDGER_NODES,
  LINKS,
  RESULTS,
  SIGNATURE_SUBJECTS,
  SUMMARIES,
} from './sql/bulk.js';
import { SIGNATURES_OF, SIGNATURES_ON } from './sql/lists.js';

type Transaction = Prisma.TransactionClient;

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

const ACTS: ReadonlySet<LedgerDraft['type']> = new Set(['event-recorded', 'statement-signed', 'record-issued']);

/** The writing side of one change. Every method appends the ledger entry that belongs to what it stores. */
export class Writer {
  private readonly entryIds = new Map<string, number>();
  private acted = false;
  /** Sessions and failed proofs: they change in place and make no entry. */
  readonly identity: IdentityRows;
  /** Scans of logs under way: likewise. */
  readonly scanJobs: ScanJobRows;

  constructor(
    private readonly tx: Transaction,
    private readonly tree: GrowingTree,
    private readonly actor: string,
    private readonly clock: Clock,
    private readonly demo: boolean,
  ) {
    this.identity = new IdentityRows(tx);
    this.scanJobs = new ScanJobRows(tx);
  }

  /**
   * Takes the lock row: the first statement of every change, so that a second writer waits here and not after it has read.
   * @returns how many entries the ledger holds, and the signed head that the last change left.
   * @throws AppError ALTERED when the ledger is shorter or longer than it was left.
   */
  static async takeLock(tx: Transaction): Promise<{ size: number; head: string | null }> {
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

  /** Whether this change records what a person did, and not only what a program derived from it. */
  get hasActed(): boolean {
    return this.acted;
  }

  /** Entries in the ledger, with those of this change. */
  get ledgerSize(): number {
    return this.tree.size;
  }

  async recordFolder(program: string): Promise<void> {
    if (this.tree.size === 0) await this.append({ type: 'folder-created', program });
  }

  // Reading inside the change, so that what was decided on cannot have moved meanwhile.

  /** The latest revision of an entry, or undefined when there is none. */
  async currentRevision(kind: string, key: string) {
    const entry = await this.tx.entry.findUnique({
      where: { kind_key: { kind, key } },
      include: { revisions: { orderBy: { number: 'desc' }, take: 1 } },
    });
    return entry?.revisions[0];
  }

  /** Body of the latest revision of an entry. */
  async latestBody(kind: string, key: string): Promise<unknown> {
    const found = await this.currentRevision(kind, key);
    return found && (JSON.parse(found.body) as unknown);
  }

  async revisionNumbered(kind: string, key: string, number: number) {
    const entry = await this.tx.entry.findUnique({
      where: { kind_key: { kind, key } },
      include: { revisions: { where: { number } } },
    });
    return entry?.revisions[0];
  }

  /** Whether these bytes were already scanned for this build by this plan. */
  async isScanned(build: string, evidence: string, planSha256: string): Promise<boolean> {
    const where = { build_evidence_planSha256: { build, evidence, planSha256 } };
    return (await this.tx.logFile.findUnique({ where })) !== null;
  }

  async knowsEvidence(sha256: string): Promise<boolean> {
    return (await this.tx.evidence.findUnique({ where: { sha256 } })) !== null;
  }

  /** Everything that was recorded about one thing, in order. */
  async eventsOf(subject: { kind: string; key: string }): Promise<RecordedEvent[]> {
    return eventsIn(this.tx, { subjectKind: subject.kind, subjectKey: subject.key });
  }

  async eventsOfTypes(types: readonly Event['type'][]): Promise<RecordedEvent[]> {
    return eventsIn(this.tx, { type: { in: [...types] } });
  }

  async installationKeys() {
    return installationKeysIn(this.tx);
  }

  /** Signed statements that cover any of these digests, in the order of signing. */
  async signaturesOn(digests: readonly string[]): Promise<RecordedSignature[]> {
    return signaturesBy(this.tx, SIGNATURES_ON, JSON.stringify(digests));
  }

  async signaturesOf(subject: { kind: string; key: string }): Promise<RecordedSignature[]> {
    return signaturesBy(this.tx, SIGNATURES_OF, subject.kind, subject.key);
  }

  async unitsOfCase(code: string): Promise<CaseUnit[]> {
    return unitsOfCaseIn(this.tx, code);
  }

  async signaturesStarting(kind: string, start: string): Promise<RecordedSignature[]> {
    return signaturesStarting(this.tx, kind, start);
  }

  /** Time of the last entry of the ledger: no later act may claim an earlier one. */
  async lastEntryAt(): Promise<string | undefined> {
    const last = await this.tx.ledgerEntry.findUnique({ where: { seq: this.tree.size } });
    return last ? (JSON.parse(last.body) as { at: string }).at : undefined;
  }

  // Writing.

  async recordEvent(event: Event, reason?: string): Promise<void> {
    const body = canonicalJson(Event.parse(event));
    const subject = subjectOfEvent(event);
    const digest = sha256Hex(body);
    const { utc, offset, seq } = await this.append({
      type: 'event-recorded',
      event: event.type,
      subject,
      digest,
      ...(reason === undefined ? {} : { reason }),
    });
    await this.tx.event.create({
      data: {
        type: event.type,
        subjectKind: subject.kind,
        subjectKey: subject.key,
        body,
        digest,
        recordedAt: utc,
        recordedOffset: offset,
        actor: this.actor,
        reason: reason ?? null,
        ledgerSeq: seq,
      },
    });
  }

  async recordSignature(signed: SignedStatement): Promise<void> {
    const { statement, digest, signature } = signed;
    const { meaning, subjects, person } = statement;
    const { utc, seq } = await this.append({
      type: 'statement-signed',
      meaning,
      subject: namedFirst(statement),
      subjects: subjects.length,
      person: person.code,
      digest,
    });
    await this.tx.signature.create({
      data: {
        digest,
        meaning,
        person: person.code,
        statement: canonicalJson(statement),
        signature,
        recordedAt: utc,
        ledgerSeq: seq,
      },
    });
    await this.tx.$executeRawUnsafe(SIGNATURE_SUBJECTS.insert, digest, SIGNATURE_SUBJECTS.rowsJson(subjects));
  }

  async recordRevision(revision: NewRevision): Promise<number> {
    const { kind, key, name, reason } = revision;
    const body = canonicalJson(revision.body);
    const digest = sha256Hex(body);
    const number = revision.number ?? ((await this.currentRevision(kind, key))?.number ?? 0) + 1;
    const { utc, offset, seq } = await this.append({
      type: 'revision-recorded',
      kind,
      key,
      revision: number,
      digest,
      ties: tiesDigest(name, revision.links),
      ...(reason === undefined ? {} : { reason }),
    });
    const entryId = await this.entryId(kind, key, utc);
    const stored = await this.tx.revision.create({
      data: {
        entryId,
        number,
        name,
        body,
        digest,
        recordedAt: utc,
        recordedOffset: offset,
        actor: this.actor,
        reason: reason ?? null,
        ledgerSeq: seq,
      },
    });
    const links: object[] = [];
    for (const { name: tie, to, revision: toRevision, massG } of revision.links) {
      const target =
        'evidence' in to ? { toEvidence: to.evidence } : { toEntryId: await this.entryId(to.kind, to.key, utc) };
      links.push({ name: tie, toRevision, massG, ...target });
    }
    if (links.length > 0) await this.tx.$executeRawUnsafe(LINKS.insert, stored.id, LINKS.rowsJson(links));
    return number;
  }

  async recordEvidence(file: { sha256: string; bytes: number; fileName: string }): Promise<void> {
    if (await this.knowsEvidence(file.sha256)) return;
    const { utc, seq } = await this.append({ type: 'evidence-received', ...file });
    await this.tx.evidence.create({ data: { ...file, recordedAt: utc, ledgerSeq: seq } });
  }

  /** All rows in one statement: row by row costs fifty times as much. */
  async recordResults(lot: string, file: string, rows: readonly NewResult[]): Promise<void> {
    if (rows.length === 0) return;
    const json = RESULTS.rowsJson(rows);
    const { utc, seq } = await this.append({
      type: 'results-recorded',
      lot,
      file,
      rows: rows.length,
      corrections: rows.filter((row) => row.replacesId !== undefined).length,
      digest: sha256Hex(json),
    });
    await this.tx.$executeRawUnsafe(RESULTS.insert, lot, utc, seq, json);
  }

  async recordLogScan(lot: string, facts: LogFacts, part: LogPart, summaries: readonly SummaryRow[]): Promise<void> {
    const [factsText, partText] = [canonicalJson(facts), canonicalJson(part)];
    const summariesText = SUMMARIES.rowsJson(summaries);
    const { seq } = await this.append({
      type: 'log-scanned',
      lot,
      build: facts.build,
      evidence: facts.sha256,
      planSha256: facts.planSha256,
      scanner: facts.scanner,
      findings: part.findings.length,
      digest: logScanDigest(factsText, partText, sha256Hex(summariesText)),
    });
    const file = await this.tx.logFile.create({
      data: {
        lot,
        build: facts.build,
        fileName: facts.fileName,
        evidence: facts.sha256,
        planSha256: facts.planSha256,
        scanner: facts.scanner,
        facts: factsText,
        part: partText,
        ledgerSeq: seq,
      },
    });
    await this.tx.$executeRawUnsafe(SUMMARIES.insert, file.id, summariesText);
    const findings = part.findings.map((finding) => ({
      ...finding,
      identity: finding.id,
      body: canonicalJson(finding),
    }));
    await this.tx.$executeRawUnsafe(FINDINGS.insert, file.id, FINDINGS.rowsJson(findings));
  }

  /** Stores a frozen dossier with its parts. The same facts give the same digest and store nothing. */
  async recordDossier(
    lot: string,
    digest: string,
    body: string,
    parts: ReadonlyMap<string, { mediaType: string; text: string }>,
  ): Promise<void> {
    if (await this.tx.dossier.findUnique({ where: { digest } })) return;
    const { utc, seq } = await this.append({ type: 'dossier-frozen', lot, digest });
    await this.tx.dossier.create({ data: { digest, lot, body, recordedAt: utc, ledgerSeq: seq } });
    for (const [sha256, { mediaType, text }] of parts) {
      if (await this.tx.part.findUnique({ where: { sha256 }, select: { sha256: true } })) continue;
      await this.tx.part.create({ data: { sha256, mediaType, body: text } });
    }
  }

  async recordAssessment(lot: string, dossier: string, program: string, body: string): Promise<string> {
    const digest = sha256Hex(body);
    if (await this.tx.assessment.findUnique({ where: { digest } })) return digest;
    const { utc, seq } = await this.append({ type: 'assessment-made', lot, dossier, digest, program });
    await this.tx.assessment.create({
      data: { digest, dossierDigest: dossier, lot, program, body, recordedAt: utc, ledgerSeq: seq },
    });
    return digest;
  }

  /** What trends need of a lot, once for each of its dossiers. */
  async recordLotSummaries(
    rows: readonly (LotSummaryFields & { lot: string; dossierDigest: string })[],
  ): Promise<void> {
    const [first] = rows;
    if (!first) return;
    const { lot, dossierDigest } = first;
    if (await this.tx.lotSummary.findFirst({ where: { dossierDigest }, select: { id: true } })) return;
    const digest = lotSummariesDigest(rows);
    await this.append({ type: 'lot-summarised', lot, dossier: dossierDigest, rows: rows.length, digest });
    for (const data of rows) await this.tx.lotSummary.create({ data });
  }

  /** The next revision of a record number. */
  async nextRecordRevision(number: string): Promise<number> {
    const last = await this.tx.record.findFirst({ where: { number }, orderBy: { revision: 'desc' } });
    return (last?.revision ?? 0) + 1;
  }

  async recordIssuedRecord(record: {
    number: string;
    revision: number;
    lot: string;
    dossierDigest: string;
    enclosure: string;
    fileSha256: string;
  }): Promise<void> {
    const enclosureDigest = sha256Hex(record.enclosure);
    const { utc, seq } = await this.append({
      type: 'record-issued',
      number: record.number,
      revision: record.revision,
      lot: record.lot,
      dossier: record.dossierDigest,
      enclosure: enclosureDigest,
      fileSha256: record.fileSha256,
    });
    await this.tx.record.create({ data: { ...record, enclosureDigest, recordedAt: utc, ledgerSeq: seq } });
  }

  private async entryId(kind: string, key: string, recordedAt: string): Promise<number> {
    const name = `${kind} ${key}`;
    const known = this.entryIds.get(name);
    if (known !== undefined) return known;
    const found =
      (await this.tx.entry.findUnique({ where: { kind_key: { kind, key } } })) ??
      (await this.tx.entry.create({ data: { kind, key, recordedAt } }));
    this.entryIds.set(name, found.id);
    return found.id;
  }

  /** Appends one entry and the tree nodes that it completes: O(log n) rows. */
  private async append(draft: LedgerDraft): Promise<Stamp & { seq: number }> {
    this.acted ||= ACTS.has(draft.type);
    const { utc, offset } = stamp(this.clock);
    const seq = this.tree.size + 1;
    const entry = LedgerEntry.parse({
      ...draft,
      version: 1,
      seq,
      at: utc,
      offset,
      actor: this.actor,
      ...(this.demo ? { demo: true } : {}),
    });
    const body = canonicalJson(entry);
    const leaf = leafHash(body);
    await this.tx.$executeRawUnsafe(LEDGER_ENTRY_INSERT, seq, body, leaf);
    const nodes = this.tree.add(leaf);
    if (nodes.length > 0) await this.tx.$executeRawUnsafe(LEDGER_NODES.insert, LEDGER_NODES.rowsJson(nodes));
    return { utc, offset, seq };
  }

  /** Leaves size and signed head for the next change, in the transaction of this one. */
  async leaveHead(head: string): Promise<void> {
    await this.tx.$executeRawUnsafe(LEDGER_HEAD_UPDATE, this.tree.size, head);
  }
}
