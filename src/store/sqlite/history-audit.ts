import type Database from 'better-sqlite3';
import type { StoredFault } from '../../ledger/stored-fault.js';
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
export function auditHistories(
  db: Database.Database,
  name: (subject: Subject, seq: null, fault: StoredFault) => void,
): void {
  const rowAt = db.prepare(ROW_AT);
  let before: Row | undefined;
  let replaced = new Set<number>();
  for (const { id: _, ...row } of db.prepare(ROWS).iterate() as IterableIterator<Row & { readonly id: number }>) {
    const { family, characteristic, position, replaces } = row;
    const last = before?.family === family && before.characteristic === characteristic ? before : undefined;
    if (last === undefined) replaced = new Set();
    const say = (fault: StoredFault) =>
      name(plainSubject('family history', `${family} ${characteristic} position ${position}`), null, fault);
    const { digest, ledgerSeq: __, ...said } = row;
    const expected = (last?.position ?? 0) + 1;
    if (position !== expected) say({ code: 'position missing', facts: { position: expected } });
    if (row.previous !== (last?.digest ?? '')) say({ code: 'not chained' });
    if (historyDigest(said) !== digest) say({ code: 'another digest of a row' });
    if (replaces !== null) {
      const old = rowAt.get(family, characteristic, replaces) as Row | undefined;
      const isOwn = old?.lot === row.lot && old?.build === row.build && old?.context === row.context;
      if (!isOwn || replaces >= position || replaced.has(replaces)) {
        say({ code: 'in place of another', facts: { position: replaces } });
      }
      replaced.add(replaces);
    }
    before = row;
  }
}
