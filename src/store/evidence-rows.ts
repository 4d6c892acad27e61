import { NotFoundError } from '../base/errors.js';
import type { Db } from './db.js';

/** Most files of one page. */
const PAGE = 5000;

/** What is known of files of evidence; their bytes are elsewhere. */
export class EvidenceRows {
  constructor(private readonly db: Db) {}

  async knows(sha256: string): Promise<boolean> {
    return (await this.db.client.evidence.findUnique({ where: { sha256 } })) !== null;
  }

  async info(sha256: string) {
    const row = await this.db.client.evidence.findUnique({ where: { sha256 } });
    if (!row) throw new NotFoundError('evidence', sha256);
    return row;
  }

  /** Evidence whose hash comes after `sha256`, one page at a time. */
  async page(sha256: string, take = PAGE) {
    return this.db.client.evidence.findMany({ where: { sha256: { gt: sha256 } }, orderBy: { sha256: 'asc' }, take });
  }
}
