import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { Injectable } from '@nestjs/common';
import { stamp } from '../base/clock.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { programName } from '../base/settings.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { type AssessedLot, LotAssessor } from '../lots/lot-assessor.js';
import { recordGoes } from '../lots/lot-line.js';
import { sealPdf } from '../pdf/seal/seal-pdf.js';
import { SEAL_FIELD, SEAL_REASON } from '../report/phrases/seal.js';
import { standardTemplateText } from '../report/standard-template.js';
import { Store } from '../store/store.js';
import { changesSince } from './changes-since.js';
import { citedStatements } from './cited-statements.js';
import type { RecordIssue } from './enclosure.js';
import { familyBefore } from './family-before.js';
import { nonconformityNotes } from './nonconformity-notes.js';
import { provenBy, type Reader, sealOf } from './record-proofs.js';
import { renderInWorker } from './render-in-worker.js';
import { signedSummaries } from './signed-summaries.js';

export interface IssuedRecord {
  readonly number: string;
  readonly revision: number;
  readonly draft: boolean;
  readonly final: boolean;
  readonly lot: string;
  readonly file: string;
  readonly fileSha256: string;
  readonly dossierSha256: string;
  readonly enclosureSha256: string;
}

export interface IssueOptions {
  /** Where the PDF goes; the data folder's `records` when absent. */
  readonly out?: string | undefined;
  /** Leaves out the facts of every other case: a copy for the institution of this one. */
  readonly forCase?: string | undefined;
  /** Ends it; nothing is issued then. What is being stored already is. */
  readonly signal?: AbortSignal | undefined;
  /** Told how many of its steps are done. */
  readonly onProgress?: ((done: number, total: number) => void) | undefined;
}

/** Assessing, gathering, drawing and storing. Drawing takes most of the time. */
const STEPS = 10;
const STEPS_DONE = { assessed: 1, gathered: 3, drawn: 9 } as const;

/** A code holds no tilde, so that no two records share a number. */
const numberOf = (lot: string, forCase: string | undefined): string =>
  forCase === undefined ? `LR-${lot}` : `LR-${lot}~${forCase}`;

/** Freezes a lot, renders its record, and notes in the ledger which file was issued. */
@Injectable()
export class RecordIssuer {
  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
  ) {}

  /** @throws NotFoundError when there is no such lot, or no such case in it. */
  async issue(
    lot: string,
    actor: string,
    { out, forCase, signal, onProgress }: IssueOptions = {},
  ): Promise<IssuedRecord> {
    const reached = (step: keyof typeof STEPS_DONE) => {
      signal?.throwIfAborted();
      onProgress?.(STEPS_DONE[step], STEPS);
    };
    const assessed = await this.assessor.assess(lot, actor);
    reached('assessed');
    const number = numberOf(lot, forCase);
    const revision = ((await this.issuedUnder(lot, number)).at(-1)?.revision ?? 0) + 1;
    const seal = await sealOf(this.store);
    const reader: Reader = {
      forCase: forCase ?? null,
      tellsOf: (other) => forCase === undefined || [number, numberOf(lot, undefined)].includes(other),
    };
    const { draft, ...proven } = await provenBy(this.store, lot, assessed, seal, reader);
    const now = stamp(this.store.clock);
    const content = {
      dossierText: assessed.dossierText,
      parts: partsFor(assessed, forCase),
      assessmentText: canonicalJson(assessed.assessment),
      templateText: standardTemplateText(),
      issue: {
        record: { number, revision, draft },
        program: programName(),
        node: process.versions.node,
        printedAt: now.utc,
        printedOffset: now.offset,
        printedBy: actor,
        ...proven,
        ...(await this.summaries(assessed, proven.signatures)),
        ...(await this.sinceLast(lot, number, assessed, proven.signatures, reader.forCase)),
        ...(await this.familyBefore(assessed, reader)),
        ...(await this.statedBefore(assessed)),
        ...(await this.nonconformities(assessed, reader)),
        forCase: reader.forCase,
      },
    };
    reached('gathered');
    const rendered = await renderInWorker(content, signal);
    reached('drawn');
    const pdf = draft
      ? Buffer.from(rendered.pdf)
      : sealPdf(Buffer.from(rendered.pdf), seal, {
          reason: SEAL_REASON,
          name: seal.subject,
          title: SEAL_FIELD.title(seal.subject),
          alt: SEAL_FIELD.alt,
          signedAt: new Date(now.utc),
        });
    const kept = this.fileOf(number, revision);
    const fileSha256 = sha256Hex(pdf);
    const waiting = writeBeside(kept, pdf);
    try {
      await this.store.change(actor, async (change) => {
        if ((await change.records.nextRevision(number)) !== revision) {
          throw new AppError('CONFLICT', `another record of lot ${lot} was issued meanwhile; issue it again`);
        }
        await change.records.add({
          number,
          revision,
          lot,
          dossierDigest: assessed.dossierSha256,
          enclosure: rendered.enclosureText,
          fileSha256,
        });
        // Under the lock of the change, so that nobody else can put another file under this name.
        fs.renameSync(waiting, kept);
      });
    } finally {
      fs.rmSync(waiting, { force: true });
    }
    if (out !== undefined) {
      const file = path.resolve(out);
      fs.renameSync(writeBeside(file, pdf), file);
    }
    return {
      number,
      revision,
      ...recordGoes(rendered.enclosureText),
      lot,
      file: out === undefined ? kept : path.resolve(out),
      fileSha256,
      dossierSha256: assessed.dossierSha256,
      enclosureSha256: rendered.enclosureSha256,
    };
  }

  /**
   * A record as it was issued: the latest of the lot, or one revision of it.
   * @throws NotFoundError when none was issued, or its file is gone; AppError ALTERED when the file is not the one issued.
   */
  async issued(lot: string, revision?: number): Promise<{ number: string; revision: number; pdf: Buffer }> {
    const records = await this.issuedUnder(lot, numberOf(lot, undefined));
    const found = revision === undefined ? records.at(-1) : records.find((record) => record.revision === revision);
    if (!found) throw new NotFoundError('record of lot', revision === undefined ? lot : `${lot} revision ${revision}`);
    const file = this.fileOf(found.number, found.revision);
    if (!fs.existsSync(file)) throw new NotFoundError('file of record', `${found.number} revision ${found.revision}`);
    const pdf = fs.readFileSync(file);
    if (sha256Hex(pdf) !== found.fileSha256) {
      throw new AppError('ALTERED', `the file of record ${found.number} revision ${found.revision} was altered`);
    }
    return { number: found.number, revision: found.revision, pdf };
  }

  private async issuedUnder(lot: string, number: string) {
    return (await this.store.read.records.ofLot(lot)).filter((record) => record.number === number);
  }

  /** Which revision is superseded and what this one says otherwise. */
  private async sinceLast(
    lot: string,
    number: string,
    { facts, assessment }: AssessedLot,
    signatures: RecordIssue['signatures'],
    forCase: string | null,
  ): Promise<Pick<RecordIssue, 'supersedes' | 'changes'>> {
    const last = (await this.issuedUnder(lot, number)).at(-1);
    if (!last) return { supersedes: null, changes: [] };
    return {
      supersedes: { number, revision: last.revision, enclosureSha256: last.enclosureDigest },
      changes: await changesSince(this.store.read, last, { facts, assessment, signatures }, forCase),
    };
  }

  private async summaries(
    assessed: AssessedLot,
    signatures: RecordIssue['signatures'],
  ): Promise<Pick<RecordIssue, 'summaries'>> {
    const summaries = await signedSummaries(this.store.read, signatures, assessed);
    return summaries.length === 0 ? {} : { summaries };
  }

  /** A copy for one institution names no record of another lot. */
  private async familyBefore({ facts }: AssessedLot, { forCase }: Reader): Promise<Pick<RecordIssue, 'familyBefore'>> {
    if (forCase !== null) return {};
    const found = await familyBefore(this.store.read, facts, (lot) => numberOf(lot, undefined));
    return found === undefined ? {} : { familyBefore: found };
  }

  /** A copy for one institution tells of no other lot. */
  private async nonconformities(
    { facts }: AssessedLot,
    { forCase }: Reader,
  ): Promise<Pick<RecordIssue, 'nonconformities'>> {
    const nonconformities = forCase === null ? await nonconformityNotes(this.store.read, facts) : undefined;
    return nonconformities === undefined ? {} : { nonconformities };
  }

  private async statedBefore({ facts }: AssessedLot): Promise<Pick<RecordIssue, 'statedBefore'>> {
    const statedBefore = await citedStatements(this.store.read, facts);
    return statedBefore.length === 0 ? {} : { statedBefore };
  }

  private fileOf(number: string, revision: number): string {
    return this.store.folder.recordFile(number, revision);
  }
}

/** @throws NotFoundError when the lot has no implant for the case. */
function partsFor({ facts, parts }: AssessedLot, forCase: string | undefined): ReadonlyMap<string, string> {
  if (forCase === undefined) return parts;
  if (!facts.cases.has(forCase)) throw new NotFoundError(`case in lot ${facts.lot.body.lot}`, forCase);
  const withheld = new Set(
    facts.dossier.parts.filter((part) => part.case !== undefined && part.case !== forCase).map(({ sha256 }) => sha256),
  );
  return new Map([...parts].filter(([sha256]) => !withheld.has(sha256)));
}

/** Writes and syncs the bytes under a name of their own beside `file`, ready to be renamed to it: whole or not at all. */
function writeBeside(file: string, bytes: Uint8Array): string {
  fs.mkdirSync(path.dirname(file), { recursive: true });
  const temporary = `${file}.${randomUUID()}.part`;
  const handle = fs.openSync(temporary, 'w', 0o600);
  try {
    fs.writeFileSync(handle, bytes);
    fs.fsyncSync(handle);
  } finally {
    fs.closeSync(handle);
  }
  return temporary;
}
