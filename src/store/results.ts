import type { ResultRow } from '../dossier/tables.js';
import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

/** A corrected value with the one before it. */
export interface Correction {
  readonly what: string;
  readonly before: string;
  readonly after: string;
  readonly reason: string;
}

/** A result as intake hands it over; the store adds when it was recorded. */
export type NewResult = Omit<ResultRow, 'recordedAt' | 'status'> & { readonly replacesId?: number | undefined };

/** More corrections of one sheet than people read. */
const CORRECTIONS = 1000;

/** Whatever the entry of the audit trail. */
const ANY = Number.MAX_SAFE_INTEGER;

/** Reported values. A correction is a successor. */
export class Results<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /**
   * Every result of a lot in the order of recording, with the status *current* or *corrected*.
   * @param asOf entry of the audit trail: what came after it does not count.
   */
  async ofLot(lot: string, asOf?: number): Promise<{ rows: ResultRow[]; ledgerSeq: number }> {
    const stored = await this.db.ask(this.db.sql.RESULTS_OF, lot, asOf ?? ANY);
    const replaced = new Set(stored.map((row) => row.replacesId));
    const rows = stored.map(
      (row): ResultRow => ({
        specimen: row.specimen,
        piece: row.piece,
        characteristic: row.characteristic,
        replicate: String(row.replicate),
        value: row.value,
        ucum: row.ucum,
        reportedValue: row.reportedValue,
        reportedUcum: row.reportedUcum,
        standardUncertainty: row.standardUncertainty,
        startedAt: row.startedAt,
        measuredAt: row.measuredAt,
        recordedAt: row.recordedAt,
        instrument: row.instrument,
        analyst: row.analyst,
        method: row.method,
        methodRevision: String(row.methodRevision),
        enteredBy: row.enteredBy,
        checkedBy: row.checkedBy,
        file: row.file,
        evidence: row.evidence,
        line: String(row.line),
        status: replaced.has(row.id) ? 'corrected' : 'current',
        reason: row.reason ?? '',
      }),
    );
    return { rows, ledgerSeq: Math.max(0, ...stored.map((row) => row.ledgerSeq)) };
  }

  /** Results of a lot that no later row replaces, with their places in the store. */
  async current(lot: string) {
    const all = await this.db.ask(this.db.sql.RESULTS_OF, lot, ANY);
    const replaced = new Set(all.map((row) => row.replacesId));
    return all.filter((row) => !replaced.has(row.id));
  }

  /** When the last result of each lot was recorded, by the code of the lot. */
  async lastRecorded(): Promise<ReadonlyMap<string, string>> {
    const found = await this.db.ask(this.db.sql.LAST_RESULTS);
    return new Map(found.map(({ lot, recordedAt }) => [lot, recordedAt]));
  }

  /** Values of one sheet that replaced earlier ones. */
  async corrections(lot: string, seq: number): Promise<Correction[]> {
    const rows = await this.db.ask(this.db.sql.CORRECTIONS_AT, lot, seq, CORRECTIONS);
    const wanted = JSON.stringify(rows.map((row) => row.replacesId));
    const replaced = await this.db.ask(this.db.sql.RESULTS_AT, wanted);
    const earlier = new Map(replaced.map((row) => [row.id, row]));
    return rows.map((row) => {
      const specimen = row.piece ? `${row.specimen}/${row.piece}` : row.specimen;
      const old = earlier.get(row.replacesId!);
      return {
        what: `${row.characteristic} of ${specimen}, replicate ${row.replicate}`,
        before: old ? `${old.reportedValue} ${old.reportedUcum}` : '',
        after: `${row.reportedValue} ${row.reportedUcum}`,
        reason: row.reason,
      };
    });
  }

  /** Rows of one sheet of a lot. No rows make no entry. */
  async add(this: Results<Recorder>, lot: string, file: string, rows: readonly NewResult[]): Promise<void> {
    if (rows.length === 0) return;
    const corrections = rows.filter((row) => row.replacesId !== undefined).length;
    await this.db.recorder.record(
      { type: 'results-recorded', lot, file, rows: rows.length, corrections },
      { Result: rows },
      { lot },
    );
  }
}
