import { NotFoundError } from '../base/errors.js';
import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

/** Most files of one page. */
const PAGE = 5000;

/** What is known of files of evidence; their bytes are elsewhere. */
export class EvidenceRows<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  async knows(sha256: string): Promise<boolean> {
    return (await this.db.ask(this.db.sql.EVIDENCE, sha256)).length > 0;
  }

  async info(sha256: string) {
    const [row] = await this.db.ask(this.db.sql.EVIDENCE, sha256);
    if (!row) throw new NotFoundError('evidence', sha256);
    return row;
  }

  /** Places in the ledger where these files were received. */
  async entriesOf(hashes: readonly string[]): Promise<number[]> {
    const rows = await this.db.ask(this.db.sql.ENTRIES_OF_EVIDENCE, JSON.stringify(hashes));
    return rows.map(({ ledgerSeq }) => ledgerSeq);
  }

  /** Evidence whose hash comes after `sha256`, one page at a time. */
  async page(sha256: string, take = PAGE) {
    return this.db.ask(this.db.sql.EVIDENCE_AFTER, sha256, take);
  }

  /** The same bytes under another name are known already, and store nothing. */
  async add(
    this: EvidenceRows<Recorder>,
    file: { readonly sha256: string; readonly bytes: number; readonly fileName: string },
  ): Promise<void> {
    if (await this.knows(file.sha256)) return;
    await this.db.recorder.record({ type: 'evidence-received', ...file }, { Evidence: [file] });
  }
}
