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
  /** When a test that lasts was started; empty where the sheet does not say. */
  readonly startedAt: string;
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
  /** The number of its newest format. */
  readonly format: number;
  /** Names of the columns that a format has, in their order. */
  columns(format?: number): readonly (keyof Row & string)[];
  write(rows: readonly Row[], format?: number): string;
  /** @throws Error when the text is not of this format. */
  read(text: string, format: number): Row[];
}

/**
 * A table whose columns are exactly the fields of its rows, which the compiler checks. A column stays for ever and says
 * since which format of the table it is there; in a row of an earlier one it is empty, which is *not given*.
 */
function table<Row>(since: Record<keyof Row & string, number>): Table<Row> {
  const names = Object.keys(since) as (keyof Row & string)[];
  const newest = Math.max(...Object.values<number>(since));
  const columns = (format = newest) => names.filter((name) => since[name] <= format);
  return {
    format: newest,
    columns,
    write: (rows, format) => {
      const written = columns(format);
      return writeCsv(
        written,
        rows.map((row) => written.map((name) => row[name] as string)),
      );
    },
    read: (text, format) => {
      const written = columns(format);
      const missing = Object.fromEntries(names.filter((name) => since[name] > format).map((name) => [name, '']));
      return readCsv(written, text).map((fields) => {
        const row: Record<string, string> = { ...missing };
        for (let i = 0; i < written.length; i++) row[written[i]!] = fields[i]!;
        return row as Row;
      });
    },
  };
}

export const RESULT_TABLE = table<ResultRow>({
  specimen: 1,
  piece: 1,
  characteristic: 1,
  replicate: 1,
  value: 1,
  ucum: 1,
  reportedValue: 1,
  reportedUcum: 1,
  standardUncertainty: 1,
  measuredAt: 1,
  recordedAt: 1,
  instrument: 1,
  analyst: 1,
  method: 1,
  methodRevision: 1,
  enteredBy: 1,
  checkedBy: 1,
  file: 1,
  evidence: 1,
  line: 1,
  status: 1,
  reason: 1,
  startedAt: 2,
});

export const SUMMARY_TABLE = table<SummaryRow>({
  build: 1,
  layer: 1,
  zone: 1,
  step: 1,
  channel: 1,
  ucum: 1,
  n: 1,
  min: 1,
  max: 1,
  mean: 1,
  timeWeightedMean: 1,
  sd: 1,
  observedMs: 1,
  outsideMs: 1,
});

/** `W1`, or `W1/A` for a piece of it. */
export const specimenText = ({ specimen, piece }: { specimen: string; piece?: string | undefined }): string =>
  piece ? `${specimen}/${piece}` : specimen;

const DAY_MS = 24 * 3600 * 1000;

/** Event and entry more than 24 hours apart print as *entered late* (docs/trade.md 11.2). */
export const isLate = (happenedAt: string, recordedAt: string): boolean =>
  Date.parse(recordedAt) - Date.parse(happenedAt) > DAY_MS;

export const enteredLate = (row: Pick<ResultRow, 'recordedAt' | 'measuredAt'>): boolean =>
  isLate(row.measuredAt, row.recordedAt);
