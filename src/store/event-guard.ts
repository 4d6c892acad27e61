import { AppError } from '../base/errors.js';
import { type LedgerEntry, readEntry } from '../ledger/entry.js';
import { inclusionPlan, proofFrom, verifyInclusion } from '../ledger/proofs.js';
import { FoundRows } from '../ledger/recorded-rows.js';
import { leafHash } from '../ledger/tree.js';
import type { Db } from './db.js';
import type { EventRow } from './event-row.js';
import { LedgerRows } from './ledger-rows.js';
import type { Recorder } from './recorder.js';

/** Entries of an audit trail that is known to be the one that was left, and the root over them. */
export interface TrustedTree {
  readonly size: number;
  readonly root: string;
}

/**
 * Lets events count only as the audit trail recorded them: passwords, roles and links that somebody put into the database by
 * hand make nobody a person who may sign. Each event is held against its entry once, by a proof of RFC 6962.
 */
export class EventGuard {
  /** By their numbers, as they were recorded. */
  private readonly known = new Map<number, EventRow>();

  /** @param trusted the tree that the last change left, held against what is kept outside the database. */
  constructor(private readonly trusted: () => Promise<TrustedTree>) {}

  /** @throws AppError ALTERED naming an event that is not as it was recorded, or that nobody recorded. */
  async refuseOthers(db: Db, rows: readonly EventRow[]): Promise<void> {
    const fresh = rows.filter((row) => !this.isKnown(row));
    if (fresh.length === 0) return;
    await refuseUnproven(db, fresh, await this.trusted());
    for (const row of fresh) this.known.set(row.id, row);
  }

  /** The same inside a change, which sees what it recorded itself; that is forgotten, for it may not be stored. */
  async refuseOthersWithin(db: Db<Recorder>, rows: readonly EventRow[]): Promise<void> {
    const fresh = rows.filter((row) => !this.isKnown(row));
    if (fresh.length === 0) return;
    await refuseUnproven(db, fresh, db.recorder.tree);
    for (const row of fresh) if (row.ledgerSeq <= db.recorder.sizeBefore) this.known.set(row.id, row);
  }

  private isKnown(row: EventRow): boolean {
    const known = this.known.get(row.id);
    return known !== undefined && isSame(known, row);
  }
}

/** In every column. */
const isSame = (one: EventRow, other: EventRow): boolean =>
  (Object.keys(other) as (keyof EventRow)[]).every((field) => one[field] === other[field]);

async function refuseUnproven(db: Db, rows: readonly EventRow[], { size, root }: TrustedTree): Promise<void> {
  const seqs = [...new Set(rows.map(({ ledgerSeq }) => ledgerSeq))];
  const beyond = rows.find(({ ledgerSeq }) => !(ledgerSeq > 0 && ledgerSeq <= size));
  if (beyond) throw unrecorded(beyond);
  const stored = await db.ask(db.sql.LEDGER_ENTRIES, JSON.stringify(seqs));
  const plans = new Map(seqs.map((seq) => [seq, inclusionPlan(seq - 1, size)]));
  const hashOf = await new LedgerRows(db).hashes([...plans.values()].flat(2));
  for (const { seq, body } of stored) {
    const own = rows.filter((row) => row.ledgerSeq === seq);
    const proof = proofFrom(plans.get(seq)!, hashOf);
    const isIn = verifyInclusion({ index: seq - 1, size, leaf: leafHash(body), root, proof });
    if (!isIn || !isRecorded(readEntry(JSON.parse(body)), own)) throw unrecorded(own[0]!);
  }
  const [without] = rows.filter((row) => !stored.some(({ seq }) => seq === row.ledgerSeq));
  if (without) throw unrecorded(without);
}

function isRecorded(entry: LedgerEntry, rows: readonly EventRow[]): boolean {
  const found = new FoundRows('Event', entry);
  for (const { ledgerSeq, id, recordedAt, recordedOffset, actor, ...row } of rows) {
    const { type, subjectKind, subjectKey, body, reason } = row;
    const columns = ['ledgerSeq', 'id', 'recordedAt', 'recordedOffset', 'actor'] as const;
    const following = [ledgerSeq, id, recordedAt, recordedOffset, actor];
    found.add(columns, following, [type, subjectKind, subjectKey, body, reason]);
  }
  return found.difference() === undefined;
}

const unrecorded = ({ id, type, subjectKey }: EventRow): AppError =>
  new AppError(
    'ALTERED',
    `event ${id}, ${type} of ${subjectKey}, is not what the audit trail recorded: somebody changed the database from outside; run ledger verify`,
  );
