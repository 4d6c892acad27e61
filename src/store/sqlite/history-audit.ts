import type Database from 'better-sqlite3';
import { plainSubject, type Subject } from '../../ledger/subject.js';
import { historyDigest } from '../histories.js';

type Row = Omit<Parameters<typeof historyDigest>[0], 'position' | 'replaces'> & {
  readonly position: number;
  readonly replaces: number | null;
  readonly digest: string;
  readonly ledgerSeq: number;
};

const ROWS = `SELECT * FROM "LotSummary" ORDER BY "family", "characteristic", "position"`;
const ROW_AT = `SELECT "lot", "build", "context", "position" FROM "LotSummary" WHERE "family" = ? AND "characteristic" = ? AND "position" = ?`;

/**
 * Holds the history of each family and characteristic against its own chain: positions without a gap, each row with the
 * digest of what it says and of the row before, and each row that stands in place of another in that of its own kind, once.
 * @param name is told of everything that differs.
 */
export function auditHistories(db: Database.Database, name: (subject: Subject, seq: null, says: string) => void): void {
  const rowAt = db.prepare(ROW_AT);
  let before: Row | undefined;
  let replaced = new Set<number>();
  for (const { id: _, ...row } of db.prepare(ROWS).iterate() as IterableIterator<Row & { readonly id: number }>) {
    const { family, characteristic, position, replaces } = row;
    const last = before?.family === family && before.characteristic === characteristic ? before : undefined;
    if (last === undefined) replaced = new Set();
    const say = (says: string) =>
      name(plainSubject('family history', `${family} ${characteristic} position ${position}`), null, says);
    const { digest, ledgerSeq: __, ...said } = row;
    const expected = (last?.position ?? 0) + 1;
    if (position !== expected) say(`position ${expected} is missing before it`);
    if (row.previous !== (last?.digest ?? '')) say('it is not chained with the row before it');
    if (historyDigest(said) !== digest) say('its digest is not the one of what it says');
    if (replaces !== null) {
      const old = rowAt.get(family, characteristic, replaces) as Row | undefined;
      const isOwn = old?.lot === row.lot && old?.build === row.build && old?.context === row.context;
      if (!isOwn || replaces >= position || replaced.has(replaces)) {
        say(`it stands in place of position ${replaces}, which is not the last row of its lot, build and context`);
      }
      replaced.add(replaces);
    }
    before = row;
  }
}
