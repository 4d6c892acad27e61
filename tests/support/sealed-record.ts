import { createPublicKey, generateKeyPairSync, type KeyObject, sign } from 'node:crypto';
import type { Clock } from '../../src/base/clock.js';
import { programName } from '../../src/base/settings.js';
import { canonicalJson, digestOf, sha256Hex } from '../../src/dossier/canonical.js';
import { fingerprintOf } from '../../src/dossier/public-key.js';
import { namedFirst, type SignedStatement, type Statement } from '../../src/dossier/statement.js';
import { checkpointText, originOf, signatureOf, writeNote } from '../../src/ledger/checkpoint.js';
import type { LedgerDraft } from '../../src/ledger/entry.js';
import { consistencyPlan, inclusionPlan, type ProofPlan, proofFrom } from '../../src/ledger/proofs.js';
import { leafHash, type NodeAt, nodeHash, peaksOf, rootOfPeaks } from '../../src/ledger/tree.js';
import type { AssessedLot } from '../../src/lots/lot-assessor.js';
import { renderTwice } from '../../src/pdf/render.js';
import { loadOrMakeSeal, type Seal } from '../../src/pdf/seal/seal.js';
import { sealPdf } from '../../src/pdf/seal/seal-pdf.js';
import type { CarriedSummary, EarlierRecord, Enclosure, RecordIssue } from '../../src/records/enclosure.js';
import { attachFiles, enclose, type RecordContent, renderRecord } from '../../src/records/render-record.js';
import { summaryOf } from '../../src/report/lot-summary.js';
import { SEAL_FIELD, sealOwner } from '../../src/report/phrases/seal.js';
import { standardTemplateText } from '../../src/report/standard-template.js';
import { temporaryFolder } from './cell.js';
import { signedBy, TestPerson, type UnsignedStatement } from './person-keys.js';

const PRINTED: Clock = { now: () => new Date('2031-05-04T10:00:00Z') };
/** Who vouches for all the others. */
const FIRST = new TestPerson('Ada', 'Ada Example');
const STAMP = { at: '2031-05-04T09:00:00Z', offset: '+00:00' };

/** The seal of a folder, made at first use. */
export function sealIn(folder: string): Seal {
  return loadOrMakeSeal(folder, PRINTED, sealOwner(false));
}

/** A record with what it was issued as. */
export interface SealedRecord {
  readonly bytes: Buffer;
  readonly issue: RecordIssue;
  readonly enclosureSha256: string;
}

/**
 * An installation as small as can be: two keys and a list of entries. It issues final records of an assessed lot, and
 * tests spoil what it issues on the way. It shares the forms of records with the program, not the workflow.
 */
export class SmallInstallation {
  readonly publicPem: string;
  readonly fingerprint: string;
  private readonly entries: string[] = [];

  constructor(
    readonly seal: Seal = sealIn(temporaryFolder('seal')),
    readonly key: KeyObject = generateKeyPairSync('ed25519').privateKey,
  ) {
    this.publicPem = publicPemOf(key);
    this.fingerprint = fingerprintOf(this.publicPem);
    this.append({ type: 'folder-created', program: programName() });
    this.append(keyMade(this.fingerprint));
    this.append(keyMade(this.seal.certificateSha256));
  }

  append(draft: LedgerDraft): void {
    const seq = this.entries.length + 1;
    this.entries.push(canonicalJson({ version: 1, seq, ...STAMP, actor: 'program', tables: {}, ...draft }));
  }

  /** Makes the audit trail another one, as if somebody had rewritten it. */
  rewrite(seq: number): void {
    const entry = JSON.parse(this.entries[seq - 1]!);
    this.entries[seq - 1] = canonicalJson({ ...entry, actor: 'somebody else' });
  }

  /** What an invented quality engineer signed about the lot. */
  signed(lot: AssessedLot, meaning: Statement['meaning'], name: string): SignedStatement {
    const statement: UnsignedStatement = {
      format: 1,
      meaning,
      subjects: [{ kind: 'lot file', key: lot.facts.dossier.lot, revision: null, digest: lot.dossierSha256 }],
      beside: [
        { kind: 'assessment', digest: lot.assessmentSha256 },
        { kind: 'summary', digest: digestOf(summaryOf(lot.facts, lot.assessment)) },
      ],
      units: lot.assessment.units.map((unit) => unit.serial),
      step: meaning === 'released' ? 'distribution' : null,
      outcome: null,
      reason: null,
      person: { role: 'quality engineer', deputyFor: null },
      ...STAMP,
      demo: lot.facts.dossier.demo,
    };
    return signedBy(new TestPerson(name, `${name} Example`), this, statement);
  }

  /** A statement as its person would have signed it too. */
  signStatement(statement: Statement): SignedStatement {
    const { code, name } = statement.person;
    const text = canonicalJson(statement);
    const personSignature = new TestPerson(code, name).sign(text);
    return { statement, digest: sha256Hex(text), personSignature, signature: this.sign(text).toString('base64') };
  }

  /** Keys of whoever signed, and of whoever vouches for them. */
  people(signatures: readonly SignedStatement[]): Enclosure['people'] {
    const persons = signatures.map(({ statement: { person } }) => new TestPerson(person.code, person.name));
    const others = new Map(persons.map((one) => [one.person, one.named(this, [FIRST])]));
    const keys = [FIRST.named(this), ...others.values()];
    return keys.map((key) => ({ ...key, madeAt: '2031-01-02T09:00:00.000Z', closedAt: null }));
  }

  /** What a final record of the lot says, its entries in the audit trail. */
  issueOf(lot: AssessedLot, revision: number, signatures: readonly SignedStatement[]): RecordIssue {
    const { lot: code } = lot.facts.dossier;
    this.append({ type: 'dossier-frozen', lot: code, digest: lot.dossierSha256 });
    this.append({
      type: 'assessment-made',
      lot: code,
      dossier: lot.dossierSha256,
      digest: lot.assessmentSha256,
      program: programName(),
    });
    for (const { statement, digest } of signatures) {
      const { meaning, subjects, person } = statement;
      this.append({
        type: 'statement-signed',
        meaning,
        subject: namedFirst(statement),
        subjects: subjects.length,
        person: person.code,
        digest,
      });
    }
    return {
      record: { number: `LR-${code}`, revision, draft: false },
      program: programName(),
      node: process.versions.node,
      printedAt: '2031-05-04T10:00:00.000Z',
      printedOffset: '+00:00',
      printedBy: 'local:tester',
      signatures: [...signatures],
      summaries: [carriedSummary(lot)],
      states: [],
      keys: [{ fingerprint: this.fingerprint, publicPem: this.publicPem }],
      people: this.people(signatures),
      ledger: this.ledger(),
      seal: { certificateSha256: this.seal.certificateSha256 },
      earlier: [],
      supersedes: null,
      changes: [],
      forCase: null,
    };
  }

  /** How an earlier record is named in one that is issued now. */
  earlier({ issue }: SealedRecord): EarlierRecord {
    const { size, root } = issue.ledger;
    const { number, revision } = issue.record;
    return { number, revision, size, root, consistency: this.proof(consistencyPlan(size, this.entries.length)) };
  }

  async render(lot: AssessedLot, issue: RecordIssue, seal: Seal | null = this.seal): Promise<SealedRecord> {
    const { pdf, enclosureSha256 } = await renderRecord(contentOf(lot, issue));
    return { bytes: sealed(Buffer.from(pdf), seal), issue, enclosureSha256 };
  }

  /** The same with one empty page instead of those of a record: for what is asked of what the file carries. */
  async renderEmpty(lot: AssessedLot, issue: RecordIssue, seal: Seal | null = this.seal): Promise<Buffer> {
    const enclosed = enclose(contentOf(lot, issue));
    const pdf = await renderTwice(enclosed.identity, (page) => attachFiles(page, enclosed));
    return sealed(pdf, seal);
  }

  /** The signed head with a proof of every entry. */
  ledger(): Enclosure['ledger'] {
    const size = this.entries.length;
    const root = rootOfPeaks(peaksOf(size).map((peak) => this.hashOf(peak)));
    const origin = originOf(this.fingerprint);
    const text = checkpointText({ origin, size, root });
    const signature = signatureOf({ name: origin, publicPem: this.publicPem }, this.sign(text));
    const proofs = this.entries.map((entry, index) => ({
      seq: index + 1,
      entry,
      path: this.proof(inclusionPlan(index, size)),
    }));
    return { size, root, checkpoint: writeNote({ text, signatures: [signature] }), proofs };
  }

  sign(text: string): Buffer {
    return sign(null, Buffer.from(text), this.key);
  }

  private proof(plan: ProofPlan): string[] {
    return proofFrom(plan, (node) => this.hashOf(node));
  }

  private hashOf({ level, index }: NodeAt): string {
    if (level === 0) return leafHash(this.entries[index]!);
    const below = [2 * index, 2 * index + 1].map((child) => this.hashOf({ level: level - 1, index: child }));
    return nodeHash(below[0]!, below[1]!);
  }
}

/** The first page as `signed` has it. */
export function carriedSummary({ facts, assessment }: AssessedLot): CarriedSummary {
  const text = canonicalJson(summaryOf(facts, assessment));
  return { sha256: sha256Hex(text), text };
}

function contentOf(lot: AssessedLot, issue: RecordIssue): RecordContent {
  return {
    dossierText: lot.dossierText,
    parts: lot.parts,
    assessmentText: canonicalJson(lot.assessment),
    templateText: standardTemplateText(),
    issue,
  };
}

function sealed(pdf: Buffer, seal: Seal | null): Buffer {
  const words = {
    signedAt: PRINTED.now(),
    reason: 'Record as issued',
    name: 'Example Implants',
    title: SEAL_FIELD.title('Example Implants'),
    alt: SEAL_FIELD.alt,
  };
  return seal ? sealPdf(pdf, seal, words) : pdf;
}

function publicPemOf(key: KeyObject): string {
  return createPublicKey(key).export({ type: 'spki', format: 'pem' }).toString();
}

function keyMade(fingerprint: string): LedgerDraft {
  return { type: 'event-recorded', event: 'key-made', subject: { kind: 'key', key: fingerprint } };
}
