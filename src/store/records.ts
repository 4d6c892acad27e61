import { NotFoundError } from '../base/errors.js';
import type { Db } from './db.js';

/** Records as they were issued. */
export class Records {
  constructor(private readonly db: Db) {}

  async ofLot(lot: string) {
    return this.db.client.record.findMany({ where: { lot }, orderBy: { id: 'asc' } });
  }

  /** Every record that was issued, of whatever lot. */
  async all() {
    return this.db.client.record.findMany({ orderBy: { id: 'asc' } });
  }

  async one(number: string, revision: number) {
    const found = await this.db.client.record.findUnique({ where: { number_revision: { number, revision } } });
    if (!found) throw new NotFoundError('record', `${number} revision ${revision}`);
    return found;
  }

  /** The next revision of a record number. */
  async nextRevision(number: string): Promise<number> {
    const last = await this.db.client.record.findFirst({ where: { number }, orderBy: { revision: 'desc' } });
    return (last?.revision ?? 0) + 1;
  }
}
