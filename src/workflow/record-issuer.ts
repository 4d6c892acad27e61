import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { stamp } from '../clock.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { AppError, NotFoundError } from '../errors.js';
import { renderRecord } from '../record/render-record.js';
import { standardTemplateText } from '../record/standard-template.js';
import { PROGRAM } from '../settings.js';
import type { Store } from '../store/store.js';
import type { LotAssessor } from './lot-assessor.js';

export interface IssuedRecord {
  readonly number: string;
  readonly revision: number;
  readonly lot: string;
  readonly file: string;
  readonly fileSha256: string;
  readonly dossierSha256: string;
  readonly enclosureSha256: string;
}

/** Freezes a lot, renders its record, and notes in the ledger which file was issued. */
export class RecordIssuer {
  constructor(
    private readonly store: Store,
    private readonly assessor: LotAssessor,
  ) {}

  /**
   * @param options.out where the PDF goes; the data folder's `records` when absent.
   * @throws NotFoundError when there is no such lot.
   */
  async issue(lot: string, actor: string, options: { out?: string } = {}): Promise<IssuedRecord> {
    const assessed = await this.assessor.assess(lot, actor);
    const number = `LR-${lot}`;
    const revision = Math.max(0, ...(await this.store.read.records(lot)).map((record) => record.revision)) + 1;
    const size = await this.store.read.ledgerSize();
    const now = stamp(this.store.clock);
    const rendered = await renderRecord({
      dossierText: assessed.dossierText,
      parts: assessed.parts,
      assessmentText: canonicalJson(assessed.assessment),
      templateText: standardTemplateText(),
      issue: {
        record: { number, revision, draft: true },
        program: PROGRAM,
        node: process.versions.node,
        printedAt: now.utc,
        printedOffset: now.offset,
        printedBy: actor,
        signatures: [],
        keys: [],
        ledger: { size, root: await this.store.read.ledgerRoot(size), checkpoint: null, proofs: [] },
        seal: null,
        earlier: [],
        supersedes: null,
        changes: [],
        forCase: null,
      },
    });
    const kept = this.fileOf(number, revision);
    const fileSha256 = sha256Hex(rendered.pdf);
    const waiting = writeBeside(kept, rendered.pdf);
    try {
      await this.store.change(actor, async (writer) => {
        if ((await writer.nextRecordRevision(number)) !== revision) {
          throw new AppError('CONFLICT', `another record of lot ${lot} was issued meanwhile; issue it again`);
        }
        await writer.recordIssuedRecord({
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
    if (options.out !== undefined) {
      const out = path.resolve(options.out);
      fs.renameSync(writeBeside(out, rendered.pdf), out);
    }
    return {
      number,
      revision,
      lot,
      file: options.out === undefined ? kept : path.resolve(options.out),
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
    const records = await this.store.read.records(lot);
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

  private fileOf(number: string, revision: number): string {
    return path.join(this.store.folder.records, `${number}-r${revision}.pdf`);
  }
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
