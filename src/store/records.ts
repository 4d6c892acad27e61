import { NotFoundError } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

export interface NewRecord {
  readonly number: string;
  readonly revision: number;
  readonly lot: string;
  readonly dossierDigest: string;
  readonly enclosure: string;
  readonly fileSha256: string;
}

/** Records as they were issued. */
export class Records<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  async ofLot(lot: string) {
    return this.db.ask(this.db.sql.RECORDS_OF, lot);
  }

  /** Every record that was issued, of whatever lot. */
  async all() {
    return this.db.ask(this.db.sql.RECORDS);
  }

  async one(number: string, revision: number) {
    const [found] = await this.db.ask(this.db.sql.RECORD, number, revision);
    if (!found) throw new NotFoundError('record', `${number} revision ${revision}`);
    return found;
  }

  /** The next revision of a record number. */
  async nextRevision(number: string): Promise<number> {
    const [last] = await this.db.ask(this.db.sql.LAST_RECORD, number);
    return (last?.revision ?? 0) + 1;
  }

  async add(this: Records<Recorder>, record: NewRecord): Promise<void> {
    const { number, revision, lot, dossierDigest: dossier, enclosure, fileSha256 } = record;
    const enclosureDigest = sha256Hex(enclosure);
    await this.db.recorder.record(
      { type: 'record-issued', number, revision, lot, dossier, enclosure: enclosureDigest, fileSha256 },
      { Record: [{ ...record, enclosureDigest }] },
    );
  }
}
