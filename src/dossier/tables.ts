import { readCsv, writeCsv } from './csv.js';

/** A test result as the dossier carries it. Empty text stands for "not given". */
export interface ResultRow {
  readonly specimen: string;
  /** Piece of a coupon that was cut up, else empty. */
  readonly piece: string;
  readonly characteristic: string;
  readonly replicate: string;
  /** Value in the unit of the specification, with `<` or `>` where so reported. */
  readonly value: string;
  readonly ucum: string;
  readonly reportedValue: string;
  readonly reportedUcum: string;
  /** Standard uncertainty in the unit of the specification. */
  readonly standardUncertainty: string;
  readonly measuredAt: string;
  readonly recordedAt: string;
  readonly instrument: string;
  readonly analyst: string;
  readonly method: string;
  readonly methodRevision: string;
  readonly enteredBy: string;
  readonly checkedBy: string;
  readonly file: string;
  readonly evidence: string;
  readonly line: string;
  /** `current`, or `corrected` when a later row replaced it. */
  readonly status: string;
  /** Why this row replaced an earlier one. */
  readonly reason: string;
}

/** Statistics of one channel in one layer, zone and step. */
export interface SummaryRow {
  readonly build: string;
  readonly layer: string;
  readonly zone: string;
  readonly step: string;
  readonly channel: string;
  readonly ucum: string;
  readonly n: string;
  readonly min: string;
  readonly max: string;
  readonly mean: string;
  readonly timeWeightedMean: string;
  readonly sd: string;
  readonly observedMs: string;
  readonly outsideMs: string;
}

export interface Table<Row> {
  readonly columns: readonly (keyof Row & string)[];
  write(rows: readonly Row[]): string;
  read(text: string): Row[];
}

/** A table whose columns are exactly the fields of its rows: `columns` is checked by the compiler. */
function table<Row>(columns: Record<keyof Row & string, true>): Table<Row> {
  const names = Object.keys(columns) as (keyof Row & string)[];
  return {
    columns: names,
    write: (rows) =>
      writeCsv(
        names,
        rows.map((row) => names.map((name) => row[name] as string)),
      ),
    read: (text) =>
      readCsv(names, text).map((fields) => {
        const row: Record<string, string> = {};
        for (let i = 0; i < names.length; i++) row[names[i]!] = fields[i]!;
        return row as Row;
      }),
  };
}

export const RESULT_TABLE = table<ResultRow>({
  specimen: true,
  piece: true,
  characteristic: true,
  replicate: true,
  value: true,
  ucum: true,
  reportedValue: true,
  reportedUcum: true,
  standardUncertainty: true,
  measuredAt: true,
  recordedAt: true,
  instrument: true,
  analyst: true,
  method: true,
  methodRevision: true,
  enteredBy: true,
  checkedBy: true,
  file: true,
  evidence: true,
  line: true,
  status: true,
  reason: true,
});

export const SUMMARY_TABLE = table<SummaryRow>({
  build: true,
  layer: true,
  zone: true,
  step: true,
  channel: true,
  ucum: true,
  n: true,
  min: true,
  max: true,
  mean: true,
  timeWeightedMean: true,
  sd: true,
  observedMs: true,
  outsideMs: true,
});

const DAY_MS = 24 * 3600 * 1000;

/** `W1`, or `W1/A` for a piece of it. */
export const specimenText = ({ specimen, piece }: { specimen: string; piece?: string | undefined }): string =>
  piece ? `${specimen}/${piece}` : specimen;

/** Event and entry more than 24 hours apart print as *entered late* (docs/trade.md 11.2). */
export const enteredLate = (row: Pick<ResultRow, 'recordedAt' | 'measuredAt'>): boolean =>
  Date.parse(row.recordedAt) - Date.parse(row.measuredAt) > DAY_MS;
