import type { Assessment } from '../assessment/assessment.js';
import { NotFoundError } from '../base/errors.js';
import { type LogFacts, LogPart } from '../dossier/schema.js';
import type { ResultRow, SummaryRow } from '../dossier/tables.js';
import type { Event, RecordedEvent } from '../ledger/event.js';
import { type NodeAt, peaksOf, rootOfPeaks } from '../ledger/tree.js';
import type { StoredEntry } from '../ledger/verify-ledger.js';
import { type CaseUnit, unitsOfCaseIn } from './case-rows.js';
import type { PrismaClient } from './generated/client.js';
import type { LockoutRow, SessionRow } from './identity-rows.js';
import { ledgerHashesIn } from './ledger-rows.js';
import {
  eventsIn,
  installationKeysIn,
  type RecordedSignature,
  signaturesBy,
  signaturesStarting,
} from './people-rows.js';
import type { ScanJob } from './scan-job-rows.js';
import type { SentForm } from './sent-form.js';
import {
  type AssessedUnitsFields,
  CURRENT_OF_LOT,
  LAST_ASSESSED_BY_OTHERS,
  UNITS_OF_ALL_LOTS,
  UNITS_OF_LOT,
  type WholeAssessmentFields,
} from './sql/assessments.js';
import {
  CURRENT_RESULTS,
  type CurrentResultFields,
  ENTRIES_OF_SIGNATURES,
  EVIDENCE_NAMED_BY,
  type NamedEvidenceFields,
  PARTS,
  SIGNATURES_BY,
  SIGNATURES_OF,
  SIGNATURES_OF_KIND,
  SIGNATURES_ON,
} from './sql/lists.js';
import {
  ALL_BETWEEN,
  ALL_OF_KIND,
  boundsOfStart,
  ENTRIES_NAMED,
  LATEST_OF_KIND,
  type RevisionFields,
} from './sql/revisions.js';
import { type Direction, type EntryFields, MASS_TAKERS, reachOf, type TieFields } from './sql/trace.js';
import { TrailReads } from './trail-reads.js';

/** A revision as read back. */
export interface StoredRevision {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
  readonly name: string;
  readonly digest: string;
  readonly recordedAt: string;
  readonly reason: string | null;
  readonly ledgerSeq: number;
  readonly body: unknown;
}

/** What the history of a family needs of a result. */
export type CurrentResult = Pick<
  ResultRow,
  'specimen' | 'piece' | 'characteristic' | 'replicate' | 'value' | 'ucum' | 'method' | 'methodRevision'
>;

/** What an assessment says of each implant. */
export interface AssessedUnits {
  readonly dossierDigest: string;
  /** Of the rules that assessed. */
  readonly version: string | null;
  readonly units: Assessment['units'];
  /** Those that have findings. */
  readonly checks: readonly Pick<Assessment['checks'][number], 'code' | 'findings'>[];
}

/** The scan of the log of a build, which may have several files. */
export interface StoredLog {
  /** Of the first file. */
  readonly facts: LogFacts;
  /** Of every file, in the order in which they count. */
  readonly files: readonly LogFacts[];
  readonly part: LogPart;
  readonly ledgerSeq: number;
  readonly id: number;
}

export interface TracedEntry {
  readonly id: number;
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  readonly revision: number;
  readonly depth: number;
}

export interface Tie {
  readonly source: number;
  readonly target: number;
  readonly name: string;
  readonly massG: string | null;
  readonly revision: number | null;
}

/** What takes a mass from an entry, with its latest body. */
export interface MassTaker {
  readonly kind: string;
  readonly key: string;
  readonly massG: string;
  readonly body: unknown;
}

const LEDGER_PAGE = 5000;

/** The reading side: a connection of its own, opened read-only. */
export class Reads {
  /** The audit trail as people read it. */
  readonly trail: TrailReads;

  constructor(private readonly db: PrismaClient) {
    this.trail = new TrailReads(db);
  }

  async current(kind: string, key: string): Promise<StoredRevision | undefined> {
    return (await this.revisions(kind, key)).at(-1);
  }

  /** Body of the latest revision of an entry. */
  async latestBody(kind: string, key: string): Promise<unknown> {
    return (await this.current(kind, key))?.body;
  }

  async currentOrThrow(kind: string, key: string, title = kind): Promise<StoredRevision> {
    const found = await this.current(kind, key);
    if (!found) throw new NotFoundError(title, key);
    return found;
  }

  async revision(kind: string, key: string, number: number): Promise<StoredRevision | undefined> {
    return (await this.revisions(kind, key)).find((item) => item.revision === number);
  }

  /** All revisions of an entry, oldest first. */
  async revisions(kind: string, key: string): Promise<StoredRevision[]> {
    const rows = await this.db.revision.findMany({
      where: { entry: { kind, key } },
      orderBy: { number: 'asc' },
    });
    return rows.map((row) => ({ ...row, kind, key, revision: row.number, body: JSON.parse(row.body) as unknown }));
  }

  /** The current revision of every entry of a kind, in the order of their keys. */
  async list(kind: string): Promise<StoredRevision[]> {
    return this.revisionRows(LATEST_OF_KIND, kind);
  }

  /** Every revision of every entry of a kind. */
  async allRevisions(kind: string): Promise<StoredRevision[]> {
    return this.revisionRows(ALL_OF_KIND, kind);
  }

  /** Every revision of the entries of a kind whose keys begin alike. */
  async revisionsStarting(kind: string, start: string): Promise<StoredRevision[]> {
    const { from, before } = boundsOfStart(start);
    return this.revisionRows(ALL_BETWEEN, kind, from, before);
  }

  private async revisionRows(sql: string, ...values: readonly string[]): Promise<StoredRevision[]> {
    const rows = await this.db.$queryRawUnsafe<RevisionFields[]>(sql, ...values);
    return rows.map((row) => ({ ...row, body: JSON.parse(row.body) as unknown }));
  }

  /** Every result of a lot in the order of recording, with the status *current* or *corrected*. */
  async results(lot: string): Promise<{ rows: ResultRow[]; ledgerSeq: number }> {
    const stored = await this.db.result.findMany({ where: { lot }, orderBy: { id: 'asc' } });
    const replaced = new Set(stored.map((row) => row.replacesId));
    const rows = stored.map(
      (row): ResultRow => ({
        specimen: row.specimen,
        piece: row.piece,
        characteristic: row.characteristic,
        replicate: String(row.replicate),
        value: row.value,
        ucum: row.ucum,
        reportedValue: row.reportedValue,
        reportedUcum: row.reportedUcum,
        standardUncertainty: row.standardUncertainty,
        measuredAt: row.measuredAt,
        recordedAt: row.recordedAt,
        instrument: row.instrument,
        analyst: row.analyst,
        method: row.method,
        methodRevision: String(row.methodRevision),
        enteredBy: row.enteredBy,
        checkedBy: row.checkedBy,
        file: row.file,
        evidence: row.evidence,
        line: String(row.line),
        status: replaced.has(row.id) ? 'corrected' : 'current',
        reason: row.reason ?? '',
      }),
    );
    return { rows, ledgerSeq: Math.max(0, ...stored.map((row) => row.ledgerSeq)) };
  }

  /** Results of lots that no later row replaces, by lot, in the order of recording. */
  async currentResultsOf(lots: readonly string[]): Promise<ReadonlyMap<string, readonly CurrentResult[]>> {
    const [row] = await this.db.$queryRawUnsafe<{ rows: string }[]>(CURRENT_RESULTS, JSON.stringify(lots));
    const found = new Map<string, CurrentResult[]>(lots.map((lot) => [lot, []]));
    for (const [, lot, ...fields] of JSON.parse(row!.rows) as CurrentResultFields[]) {
      const [specimen, piece, characteristic, replicate, value, ucum, method, methodRevision] = fields;
      found.get(lot)!.push({
        ...{ specimen, piece, characteristic, replicate: String(replicate), value, ucum },
        ...{ method, methodRevision: String(methodRevision) },
      });
    }
    return found;
  }

  /** Results of a lot that no later row replaces, with their places in the store. */
  async currentResults(lot: string) {
    const all = await this.db.result.findMany({ where: { lot }, orderBy: { id: 'asc' } });
    const replaced = new Set(all.map((row) => row.replacesId));
    return all.filter((row) => !replaced.has(row.id));
  }

  /** Another build than `build` whose log has these bytes, if there is one. */
  async buildOfLog(sha256: string, build: string): Promise<string | undefined> {
    return (await this.db.logFile.findFirst({ where: { evidence: sha256, build: { not: build } } }))?.build;
  }

  /** The latest scan of each build of a lot. */
  async logs(lot: string): Promise<StoredLog[]> {
    const rows = await this.db.logFile.findMany({ where: { lot }, orderBy: { id: 'asc' } });
    const known = rows.map((row) => ({ row, facts: JSON.parse(row.facts) as LogFacts }));
    const latest = new Map(known.map((log) => [log.row.build, log]));
    return [...latest.values()].map(({ row: last, facts: { planSha256, mergedWith = [] } }) => {
      const ofScan = known.filter(
        ({ row, facts }) =>
          row.build === last.build &&
          facts.planSha256 === planSha256 &&
          (row.id === last.id || mergedWith.includes(facts.sha256)),
      );
      const [{ row, facts }] = ofScan as [(typeof ofScan)[number]];
      return {
        id: row.id,
        facts,
        files: ofScan.map((log) => log.facts),
        part: LogPart.parse(JSON.parse(row.part)),
        ledgerSeq: last.ledgerSeq,
      };
    });
  }

  /** Scans that wait or run. */
  async openScanJobs(): Promise<ScanJob[]> {
    return this.db.scanJob.findMany({ where: { state: { in: ['waiting', 'running'] } }, orderBy: { id: 'asc' } });
  }

  /** Scans of one build, the last one first. */
  async scanJobs(lot: string, build: string, take = 5): Promise<ScanJob[]> {
    return this.db.scanJob.findMany({ where: { lot, build }, orderBy: { id: 'desc' }, take });
  }

  async scanJob(id: number): Promise<ScanJob | null> {
    return this.db.scanJob.findUnique({ where: { id } });
  }

  async logSummaries(log: StoredLog): Promise<SummaryRow[]> {
    const rows = await this.db.logSummary.findMany({ where: { logFileId: log.id }, orderBy: { id: 'asc' } });
    const text = (value: number | null) => (value === null ? '' : String(value));
    return rows.map((row) => ({
      build: log.facts.build,
      layer: text(row.layer),
      zone: row.zone,
      step: row.step,
      channel: row.channel,
      ucum: row.ucum,
      n: String(row.n),
      min: text(row.min),
      max: text(row.max),
      mean: text(row.mean),
      timeWeightedMean: text(row.timeWeightedMean),
      sd: text(row.sd),
      observedMs: String(row.observedMs),
      outsideMs: String(row.outsideMs),
    }));
  }

  /** A log finding by its identity or the first digits of it, with its lot. */
  async logFinding(identity: string): Promise<{ lot: string; body: string } | undefined> {
    const { from, before } = boundsOfStart(identity);
    const found = await this.db.finding.findFirst({
      where: { identity: { gte: from, lt: before } },
      orderBy: { id: 'desc' },
      include: { logFile: { select: { lot: true } } },
    });
    return found ? { lot: found.logFile.lot, body: found.body } : undefined;
  }

  async evidenceInfo(sha256: string) {
    const row = await this.db.evidence.findUnique({ where: { sha256 } });
    if (!row) throw new NotFoundError('evidence', sha256);
    return row;
  }

  /** Evidence whose hash comes after `sha256`, one page at a time. */
  async evidencePage(sha256: string, take = LEDGER_PAGE) {
    return this.db.evidence.findMany({ where: { sha256: { gt: sha256 } }, orderBy: { sha256: 'asc' }, take });
  }

  /** Codes of the lots that name this evidence, or that rest on what names it, in order. */
  async lotsRestingOn(sha256: string): Promise<string[]> {
    const links = await this.db.link.findMany({ where: { toEvidence: sha256 }, include: { from: true } });
    const lots = new Set<string>();
    for (const entryId of new Set(links.map((link) => link.from.entryId))) {
      const { entries } = await this.reach(entryId, 'forward');
      for (const entry of entries) if (entry.kind === 'lot') lots.add(entry.key);
      // A result sheet depends on its lot, not the lot on it.
      for (const lot of await this.lotsOfResultSet(entryId)) lots.add(lot);
    }
    return [...lots].sort();
  }

  private async lotsOfResultSet(entryId: number): Promise<string[]> {
    const links = await this.db.link.findMany({
      where: { from: { entryId }, name: 'of lot' },
      include: { toEntry: true },
    });
    return links.flatMap((link) => link.toEntry?.key ?? []);
  }

  /** Evidence that revisions name, in their order, and each of them in the order in which it names them. */
  async evidenceNamedBy(
    revisions: readonly { readonly kind: string; readonly key: string; readonly revision: number }[],
  ): Promise<NamedEvidenceFields[]> {
    const wanted = JSON.stringify(revisions.map(({ kind, key, revision }) => [kind, key, revision]));
    return this.db.$queryRawUnsafe<NamedEvidenceFields[]>(EVIDENCE_NAMED_BY, wanted);
  }

  async latestDossier(lot: string): Promise<{ digest: string; body: string } | undefined> {
    return (await this.db.dossier.findFirst({ where: { lot }, orderBy: { ledgerSeq: 'desc' } })) ?? undefined;
  }

  /** Places in the ledger of signed statements, by their digests. */
  async signatureEntries(digests: readonly string[]): Promise<number[]> {
    const rows = await this.db.$queryRawUnsafe<{ ledgerSeq: number }[]>(ENTRIES_OF_SIGNATURES, JSON.stringify(digests));
    return rows.map(({ ledgerSeq }) => ledgerSeq);
  }

  /** Places in the ledger of a dossier and of an assessment of it. */
  async frozenEntries(dossier: string, assessment: string): Promise<number[]> {
    const rows = await Promise.all([
      this.db.dossier.findUnique({ where: { digest: dossier }, select: { ledgerSeq: true } }),
      this.db.assessment.findUnique({ where: { digest: assessment }, select: { ledgerSeq: true } }),
    ]);
    return rows.flatMap((row) => (row ? [row.ledgerSeq] : []));
  }

  async dossier(digest: string): Promise<{ digest: string; body: string } | undefined> {
    return (await this.db.dossier.findUnique({ where: { digest } })) ?? undefined;
  }

  /** Texts of parts by their SHA-256. */
  async parts(digests: readonly string[]): Promise<Map<string, string>> {
    const rows = await this.db.$queryRawUnsafe<{ sha256: string; body: string }[]>(PARTS, JSON.stringify(digests));
    return new Map(rows.map((row) => [row.sha256, row.body]));
  }

  async assessment(digest: string): Promise<{ digest: string; body: string } | undefined> {
    return (await this.db.assessment.findUnique({ where: { digest } })) ?? undefined;
  }

  async latestAssessment(lot: string): Promise<{ digest: string; dossierDigest: string; body: string } | undefined> {
    return (await this.db.assessment.findFirst({ where: { lot }, orderBy: { ledgerSeq: 'desc' } })) ?? undefined;
  }

  /** The current assessment of a lot: by this version of the rules, or the latest by another. */
  async currentAssessment(version: string, lot: string): Promise<WholeAssessmentFields | undefined> {
    return (await this.db.$queryRawUnsafe<WholeAssessmentFields[]>(CURRENT_OF_LOT, version, lot))[0];
  }

  /** Lots that rules of another version assessed last, those first that were frozen last. */
  async lotsLastAssessedByOthers(version: string): Promise<string[]> {
    const rows = await this.db.$queryRawUnsafe<{ lot: string }[]>(LAST_ASSESSED_BY_OTHERS, version);
    return rows.map(({ lot }) => lot);
  }

  /** What the current assessment says of the units of each lot, or of one, without the rest of it. */
  async currentUnits(version: string, lot?: string): Promise<ReadonlyMap<string, AssessedUnits>> {
    const rows =
      lot === undefined
        ? await this.db.$queryRawUnsafe<AssessedUnitsFields[]>(UNITS_OF_ALL_LOTS, version)
        : await this.db.$queryRawUnsafe<AssessedUnitsFields[]>(UNITS_OF_LOT, version, lot);
    return new Map(
      rows.map((row) => [
        row.lot,
        {
          dossierDigest: row.dossierDigest,
          version: row.version,
          units: JSON.parse(row.units ?? '[]') as AssessedUnits['units'],
          checks: JSON.parse(row.checks) as AssessedUnits['checks'],
        },
      ]),
    );
  }

  async records(lot: string) {
    return this.db.record.findMany({ where: { lot }, orderBy: { id: 'asc' } });
  }

  /** Every record that was issued, of whatever lot. */
  async allRecords() {
    return this.db.record.findMany({ orderBy: { id: 'asc' } });
  }

  async record(number: string, revision: number) {
    const found = await this.db.record.findUnique({ where: { number_revision: { number, revision } } });
    if (!found) throw new NotFoundError('record', `${number} revision ${revision}`);
    return found;
  }

  /** The latest summary of each lot and build for one characteristic of a family, in the order of building. */
  async lotSummaries(family: string, characteristic: string) {
    const rows = await this.db.lotSummary.findMany({ where: { family, characteristic }, orderBy: { id: 'asc' } });
    const latest = new Map(rows.map((row) => [`${row.lot} ${row.build}`, row]));
    return [...latest.values()].sort((a, b) => Date.parse(a.builtAt) - Date.parse(b.builtAt));
  }

  // People and what they signed.

  async eventsOf(subject: { kind: string; key: string }): Promise<RecordedEvent[]> {
    return eventsIn(this.db, { subjectKind: subject.kind, subjectKey: subject.key });
  }

  async eventsOfTypes(types: readonly Event['type'][]): Promise<RecordedEvent[]> {
    return eventsIn(this.db, { type: { in: [...types] } });
  }

  /** Grows with every event: what was derived from events holds while it stays. */
  async lastEventId(): Promise<number> {
    const last = await this.db.event.findFirst({ orderBy: { id: 'desc' }, select: { id: true } });
    return last?.id ?? 0;
  }

  async session(tokenSha256: string): Promise<SessionRow | null> {
    return this.db.session.findUnique({ where: { tokenSha256 } });
  }

  /** Where the result of a form stands that was sent before: null when nobody wrote that down, undefined for a new one. */
  async resultOfForm({ session, number }: SentForm): Promise<string | null | undefined> {
    const row = await this.db.sentForm.findUnique({ where: { session_number: { session, number } } });
    return row?.result;
  }

  /** Failed proofs of identity of everybody who had any, by what they are counted under. */
  async lockouts(): Promise<Map<string, LockoutRow>> {
    const rows = await this.db.lockout.findMany();
    return new Map(rows.map((row) => [row.person, row]));
  }

  /** Every key that has signed here, oldest first. */
  async installationKeys() {
    return installationKeysIn(this.db);
  }

  /** Signed statements that cover any of these digests, in the order of signing. */
  async signaturesOn(digests: readonly string[]): Promise<RecordedSignature[]> {
    return signaturesBy(this.db, SIGNATURES_ON, JSON.stringify(digests));
  }

  async signaturesOf(subject: { kind: string; key: string }): Promise<RecordedSignature[]> {
    return signaturesBy(this.db, SIGNATURES_OF, subject.kind, subject.key);
  }

  async signaturesOfKind(kind: string): Promise<RecordedSignature[]> {
    return signaturesBy(this.db, SIGNATURES_OF_KIND, kind);
  }

  /** Everything that a person signed. */
  async signaturesBy(person: string): Promise<RecordedSignature[]> {
    return signaturesBy(this.db, SIGNATURES_BY, person);
  }

  async unitsOfCase(code: string): Promise<CaseUnit[]> {
    return unitsOfCaseIn(this.db, code);
  }

  /** Statements on things of a kind whose keys begin alike, such as the check findings of one lot. */
  async signaturesStarting(kind: string, start: string): Promise<RecordedSignature[]> {
    return signaturesStarting(this.db, kind, start);
  }

  // The audit trail.

  async ledgerSize(): Promise<number> {
    return (await this.db.ledgerLock.findUnique({ where: { id: 1 } }))?.size ?? 0;
  }

  /** Root over the first `size` entries, from stored nodes. */
  async ledgerRoot(size: number): Promise<string> {
    const peaks = peaksOf(size);
    const hashOf = await this.ledgerHashes(peaks);
    return rootOfPeaks(peaks.map(hashOf));
  }

  /**
   * Hashes of stored nodes, read in two queries.
   * @returns what gives the hash of each of them; it throws AppError ALTERED for one that is not stored.
   */
  async ledgerHashes(nodes: readonly NodeAt[]): Promise<(node: NodeAt) => string> {
    return ledgerHashesIn(this.db, nodes);
  }

  async ledgerEntry(seq: number): Promise<StoredEntry | undefined> {
    return (await this.db.ledgerEntry.findUnique({ where: { seq } })) ?? undefined;
  }

  /** Entries after `seq`, one page at a time, so that memory does not grow with the ledger. */
  async ledgerPage(afterSeq: number, take = LEDGER_PAGE): Promise<StoredEntry[]> {
    return this.db.ledgerEntry.findMany({ where: { seq: { gt: afterSeq } }, orderBy: { seq: 'asc' }, take });
  }

  // Tracing.

  /** Entries with this key, of whatever kind; the part after a colon finds a heat by its bare number. */
  async entriesNamed(key: string) {
    return this.db.$queryRawUnsafe<{ id: number; kind: string; key: string }[]>(ENTRIES_NAMED, key, `:${key}`);
  }

  /** What takes mass from an entry, by its current revision. */
  async massTakers(kind: string, key: string): Promise<MassTaker[]> {
    const rows = await this.db.$queryRawUnsafe<(MassTaker & { body: string })[]>(MASS_TAKERS, kind, key);
    return rows.map((row) => ({ ...row, body: JSON.parse(row.body) as unknown }));
  }

  /** Everything that an entry depends on, or that depends on it, itself included, however far away; and the ties between. */
  async reach(entryId: number, direction: Direction): Promise<{ entries: TracedEntry[]; ties: Tie[] }> {
    const [row] = await this.db.$queryRawUnsafe<{ entries: string; ties: string }[]>(reachOf(direction), entryId);
    const ties = (JSON.parse(row!.ties) as TieFields[])
      .sort(([a], [b]) => a - b)
      .map(([, source, target, name, massG, revision]): Tie => ({ source, target, name, massG, revision }));
    const depths = depthsFrom(entryId, ties, direction);
    const entries = (JSON.parse(row!.entries) as EntryFields[]).map(
      ([id, kind, key, name, revision]): TracedEntry => ({ id, kind, key, name, revision, depth: depths.get(id)! }),
    );
    return { entries, ties };
  }
}

/** The least number of ties between an entry and each one reached from it. */
function depthsFrom(entryId: number, ties: readonly Tie[], direction: Direction): Map<number, number> {
  const next = new Map<number, number[]>();
  for (const { source, target } of ties) {
    const [near, far] = direction === 'back' ? [source, target] : [target, source];
    const neighbours = next.get(near);
    if (neighbours) neighbours.push(far);
    else next.set(near, [far]);
  }
  const depths = new Map([[entryId, 0]]);
  // A map is walked in the order of insertion, also over what is added on the way: nearest entries first.
  for (const [id, depth] of depths) {
    for (const far of next.get(id) ?? []) if (!depths.has(far)) depths.set(far, depth + 1);
  }
  return depths;
}
