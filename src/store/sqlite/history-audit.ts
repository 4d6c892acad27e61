import type Database from 'better-sqlite3';
import type { StoredFault } from '../../ledger/stored-fault.js';
import { plainSubject, type Subject } from '../../ledger/subject.js';
import { historyDigest } from '../histories.js';
import type { SummedRow } from '../history-sums.js';
import { byDay, dayNode, regrown } from '../history-tree.js';
import { sumColumns } from '../history-upkeep.js';

type Row = Omit<Parameters<typeof historyDigest>[0], 'position' | 'replaces'> & {
  readonly position: number;
  readonly replaces: number | null;
  readonly digest: string;
  readonly ledgerSeq: number;
};

const ROWS = `SELECT * FROM "LotSummary" ORDER BY "family", "characteristic", "position"`;
const SUMS = `SELECT * FROM "HistorySum" WHERE "family" = ? AND "characteristic" = ?`;
const SUMS_OF_NONE = `SELECT DISTINCT "family", "characteristic" FROM "HistorySum"
EXCEPT SELECT "family", "characteristic" FROM "LotSummary"`;
const ROW_AT = `SELECT "lot", "build", "context", "position" FROM "LotSummary" WHERE "family" = ? AND "characteristic" = ? AND "position" = ?`;

/**
 * Holds the history of each family and characteristic against its own chain: positions without a gap, each row with the
 * digest of what it says and of the row before, and each row that stands in place of another in that of its own kind, once.
 * And the sums that are kept of it against those of the rows that stand.
 * @param name is told of everything that differs.
 */
export function auditHistories(
  db: Database.Database,
  name: (subject: Subject, seq: null, fault: StoredFault) => void,
): void {
  const rowAt = db.prepare(ROW_AT);
  let before: Row | undefined;
  let replaced = new Set<number>();
  let standing = new Map<number, SummedRow>();
  const checkSums = (family: string, characteristic: string) => {
    for (const period of otherSums(db, family, characteristic, [...standing.values()])) {
      const key = `${family} ${characteristic} sums ${period}`.trimEnd();
      name(plainSubject('family history', key), null, { code: 'other sums' });
    }
  };
  for (const { id: _, ...row } of db.prepare(ROWS).iterate() as IterableIterator<Row & { readonly id: number }>) {
    const { family, characteristic, position, replaces } = row;
    const last = before?.family === family && before.characteristic === characteristic ? before : undefined;
    if (last === undefined) {
      if (before) checkSums(before.family, before.characteristic);
      replaced = new Set();
      standing = new Map();
    }
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
      standing.delete(replaces);
    }
    standing.set(position, summed(row));
    before = row;
  }
  if (before) checkSums(before.family, before.characteristic);
  standing = new Map();
  for (const { family, characteristic } of db.prepare(SUMS_OF_NONE).all() as Row[]) checkSums(family, characteristic);
}

/** Without values, which would be most of what is held in memory. */
const summed = ({ values: _, takenOut: __, ...row }: Row): SummedRow => row as unknown as SummedRow;

/** Periods whose sums are not those of the rows that stand; those that have none, or should have none, among them. */
function otherSums(
  db: Database.Database,
  family: string,
  characteristic: string,
  standing: readonly SummedRow[],
): string[] {
  const days = new Map([...byDay(standing)].map(([day, rows]) => [day, dayNode(day, rows)]));
  const expected = regrown([], days).map(({ node }) => sumColumns({ family, characteristic }, node!));
  const found = db.prepare(SUMS).raw().all(family, characteristic) as ReturnType<typeof sumColumns>[];
  const textOf = (columns: ReturnType<typeof sumColumns>) => JSON.stringify(columns);
  const [known, right] = [found, expected].map((rows) => new Set(rows.map(textOf)));
  const other = [
    ...found.filter((row) => !right!.has(textOf(row))),
    ...expected.filter((row) => !known!.has(textOf(row))),
  ];
  return [...new Set(other.map(([, , , period]) => String(period)))].sort();
}
