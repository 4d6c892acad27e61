import { sha256Hex } from '../dossier/canonical.js';
import { faultOfStatement, namedFirst, SignedStatement } from '../dossier/statement.js';
import type { LedgerEntry } from './entry.js';
import { type LotSummaryFields, logScanDigest, lotSummariesDigest, type Tie, tiesDigest } from './row-digests.js';

/**
 * What is wrong with a stored row, held against the ledger entry that recorded it; undefined when they agree. Bodies are
 * hashed afresh: the digest that stands beside them proves nothing.
 */
type Entry<T extends LedgerEntry['type']> = Extract<LedgerEntry, { type: T }>;
type Fault = string | undefined;

export interface RevisionRow {
  readonly kind: string;
  readonly key: string;
  readonly number: number;
  readonly name: string;
  readonly body: string;
  readonly digest: string;
  readonly recordedAt: string;
  readonly recordedOffset: string;
  readonly actor: string;
  readonly reason: string | null;
}

export function faultOfRevision(entry: Entry<'revision-recorded'>, row: RevisionRow, ties: readonly Tie[]): Fault {
  return (
    bodyFault(row.body, row.digest, entry.digest) ??
    fieldFault([
      ['kind', row.kind, entry.kind],
      ['key', row.key, entry.key],
      ['revision', row.number, entry.revision],
      ...recordedFields(entry, row),
      ['actor', row.actor, entry.actor],
      ['reason', row.reason, entry.reason ?? null],
    ]) ??
    (tiesDigest(row.name, ties) === entry.ties ? undefined : 'its name or its links are not those that were recorded')
  );
}

export interface EvidenceRow {
  readonly sha256: string;
  readonly bytes: number;
  readonly fileName: string;
  readonly recordedAt: string;
}

export function faultOfEvidence(entry: Entry<'evidence-received'>, row: EvidenceRow): Fault {
  return fieldFault([
    ['SHA-256', row.sha256, entry.sha256],
    ['length', row.bytes, entry.bytes],
    ['file name', row.fileName, entry.fileName],
    ['time of recording', row.recordedAt, entry.at],
  ]);
}

/** Rows of one results entry, hashed one after the other. */
export interface ResultRows {
  readonly count: number;
  readonly corrections: number;
  readonly digest: string;
  /** Lots and times of recording that the rows state. */
  readonly lots: ReadonlySet<string>;
  readonly times: ReadonlySet<string>;
}

export function faultOfResults(entry: Entry<'results-recorded'>, rows: ResultRows): Fault {
  if (rows.count !== entry.rows) return `there are ${rows.count} rows, and ${entry.rows} were recorded`;
  if (rows.digest !== entry.digest) return 'a row is not as it was recorded';
  return fieldFault([
    ['lot', [...rows.lots].join(', '), entry.lot],
    ['time of recording', [...rows.times].join(', '), entry.at],
    ['number of corrections', rows.corrections, entry.corrections],
  ]);
}

export interface LogRow {
  readonly lot: string;
  readonly build: string;
  readonly fileName: string;
  readonly evidence: string;
  readonly planSha256: string;
  readonly scanner: string;
  readonly facts: string;
  readonly part: string;
}

/** What stands in columns of a stored finding beside its text. */
export interface FindingRow {
  readonly identity: string;
  readonly build: string;
  readonly rule: string;
  readonly level: string;
  readonly channel: string | null;
  readonly body: string;
}

/**
 * @param summaries SHA-256 of the summary rows as one JSON list.
 * @param findings rows as they are stored, and the same as the text of the scan gives them.
 */
export function faultOfLog(
  entry: Entry<'log-scanned'>,
  row: LogRow,
  summaries: string,
  findings: { readonly stored: readonly FindingRow[]; readonly scanned: readonly FindingRow[] },
): Fault {
  if (logScanDigest(row.facts, row.part, summaries) !== entry.digest) {
    return 'its facts, findings, outlines or summaries are not those that were recorded';
  }
  return (
    fieldFault([
      ['lot', row.lot, entry.lot],
      ['build', row.build, entry.build],
      ['evidence', row.evidence, entry.evidence],
      ['plan', row.planSha256, entry.planSha256],
      ['scanner', row.scanner, entry.scanner],
      ['file name', row.fileName, (JSON.parse(row.facts) as { fileName: string }).fileName],
      ['number of findings', findings.stored.length, entry.findings],
    ]) ?? (sameFindings(findings.stored, findings.scanned) ? undefined : 'a finding is not as it was recorded')
  );
}

function sameFindings(stored: readonly FindingRow[], scanned: readonly FindingRow[]): boolean {
  const text = ({ identity, build, rule, level, channel, body }: FindingRow) =>
    JSON.stringify([identity, build, rule, level, channel, body]);
  return stored.length === scanned.length && stored.every((row, index) => text(row) === text(scanned[index]!));
}

export interface EventRow {
  readonly type: string;
  readonly subjectKind: string;
  readonly subjectKey: string;
  readonly body: string;
  readonly digest: string;
  readonly recordedAt: string;
  readonly recordedOffset: string;
  readonly actor: string;
  readonly reason: string | null;
}

export function faultOfEvent(entry: Entry<'event-recorded'>, row: EventRow): Fault {
  return (
    bodyFault(row.body, row.digest, entry.digest) ??
    fieldFault([
      ['type', row.type, entry.event],
      ['subject', `${row.subjectKind} ${row.subjectKey}`, `${entry.subject.kind} ${entry.subject.key}`],
      ...recordedFields(entry, row),
      ['actor', row.actor, entry.actor],
      ['reason', row.reason, entry.reason ?? null],
    ])
  );
}

export interface SignatureRow {
  readonly digest: string;
  readonly meaning: string;
  readonly person: string;
  readonly statement: string;
  readonly signature: string;
  readonly recordedAt: string;
}

/** What stands in columns beside a statement of one thing that it covers. */
export interface SignatureSubjectRow {
  readonly kind: string;
  readonly key: string;
  readonly digest: string;
}

/**
 * @param subjects rows of what the statement covers, as they are stored.
 * @param keyOf public key of the installation by its fingerprint.
 */
export function faultOfSignature(
  entry: Entry<'statement-signed'>,
  row: SignatureRow,
  subjects: readonly SignatureSubjectRow[],
  keyOf: (fingerprint: string) => string | undefined,
): Fault {
  const fault = bodyFault(row.statement, row.digest, entry.digest);
  if (fault !== undefined) return fault;
  const { statement, digest, signature } = row;
  const signed = SignedStatement.safeParse({ statement: JSON.parse(statement), digest, signature });
  if (!signed.success) return 'it is no signed statement';
  const { meaning, person, installation } = signed.data.statement;
  const first = namedFirst(signed.data.statement);
  const key = keyOf(installation);
  return (
    fieldFault([
      ['meaning', row.meaning, meaning],
      ['meaning', entry.meaning, meaning],
      ['subject', `${entry.subject.kind} ${entry.subject.key}`, `${first.kind} ${first.key}`],
      ['number of things that it covers', signed.data.statement.subjects.length, entry.subjects],
      ['list of what was signed', subjectsText(subjects), subjectsText(signed.data.statement.subjects)],
      ['person', row.person, person.code],
      ['person', entry.person, person.code],
      ['time of recording', row.recordedAt, entry.at],
    ]) ?? (key === undefined ? 'it names a key that this folder never had' : faultOfStatement(signed.data, key))
  );
}

const subjectsText = (subjects: readonly SignatureSubjectRow[]): string =>
  subjects.map(({ kind, key, digest }) => `${kind} ${key} ${digest}`).join('\n');

export interface TextRow {
  readonly digest: string;
  readonly lot: string;
  readonly body: string;
  readonly recordedAt: string;
}

export function faultOfDossier(entry: Entry<'dossier-frozen'>, row: TextRow): Fault {
  return (
    bodyFault(row.body, row.digest, entry.digest) ??
    fieldFault([
      ['lot', row.lot, entry.lot],
      ['time of recording', row.recordedAt, entry.at],
    ])
  );
}

export function faultOfAssessment(
  entry: Entry<'assessment-made'>,
  row: TextRow & { readonly dossierDigest: string; readonly program: string },
): Fault {
  return (
    bodyFault(row.body, row.digest, entry.digest) ??
    fieldFault([
      ['lot', row.lot, entry.lot],
      ['lot file', row.dossierDigest, entry.dossier],
      ['program', row.program, entry.program],
      ['time of recording', row.recordedAt, entry.at],
    ])
  );
}

export function faultOfLotSummaries(
  entry: Entry<'lot-summarised'>,
  rows: readonly (LotSummaryFields & { readonly lot: string })[],
): Fault {
  if (rows.length !== entry.rows) return `there are ${rows.length} rows, and ${entry.rows} were recorded`;
  if (lotSummariesDigest(rows) !== entry.digest) return 'a row is not as it was recorded';
  return fieldFault(rows.map((row) => ['lot', row.lot, entry.lot]));
}

export interface RecordRow {
  readonly number: string;
  readonly revision: number;
  readonly lot: string;
  readonly dossierDigest: string;
  readonly enclosureDigest: string;
  readonly enclosure: string;
  readonly fileSha256: string;
  readonly recordedAt: string;
}

export function faultOfRecord(entry: Entry<'record-issued'>, row: RecordRow): Fault {
  return (
    bodyFault(row.enclosure, row.enclosureDigest, entry.enclosure) ??
    fieldFault([
      ['number', row.number, entry.number],
      ['revision', row.revision, entry.revision],
      ['lot', row.lot, entry.lot],
      ['lot file', row.dossierDigest, entry.dossier],
      ['SHA-256 of the file', row.fileSha256, entry.fileSha256],
      ['time of recording', row.recordedAt, entry.at],
    ])
  );
}

type Field = readonly [what: string, found: string | number | null, recorded: string | number | null];

function recordedFields(
  entry: { readonly at: string; readonly offset: string },
  row: { readonly recordedAt: string; readonly recordedOffset: string },
): Field[] {
  return [
    ['time of recording', row.recordedAt, entry.at],
    ['offset from UTC', row.recordedOffset, entry.offset],
  ];
}

function fieldFault(fields: readonly Field[]): Fault {
  const wrong = fields.find(([, found, recorded]) => found !== recorded);
  if (!wrong) return undefined;
  const [what, found, recorded] = wrong;
  return `its ${what} is "${found ?? 'none'}", and "${recorded ?? 'none'}" was recorded`;
}

function bodyFault(body: string, digest: string, recorded: string): Fault {
  if (sha256Hex(body) !== recorded) return 'its text is not the text that was recorded';
  return digest === recorded ? undefined : 'the digest that stands beside its text is another';
}
