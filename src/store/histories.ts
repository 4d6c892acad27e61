import type { BesideValues } from '../dossier/beside-values.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import type { Db } from './db.js';
import { type GroupWant, groupOf, lastGroups } from './history-groups.js';
import type { SummedRow } from './history-sums.js';
import { type Chained, chainOf, sumAgain } from './history-upkeep.js';
import type { NewRows } from './new-rows.js';
import type { HistoryHeadRow, HistoryPart, HistoryRow, HistoryWant, LotRow } from './questions.js';
import type { Recorder } from './recorder.js';

/** Later than every build, before every build, and the last entry that a ledger can have. */
export const ALWAYS = '9999-12-31T23:59:59.999Z';
export const NEVER = '';
export const LAST_ENTRY = Number.MAX_SAFE_INTEGER;

/** A single value of a row: specimen, piece, replicate, value. */
export type RowValue = [specimen: string, piece: string, replicate: number, value: number];
/** One that a signed decision took out: specimen, piece, replicate, value as reported, cause, who decided. */
export type RowTakenOut = [...[specimen: string, piece: string, replicate: number, value: string], string, string];

/** Values of a build and context of one lot, before they have their place in the history. */
export interface SummarisedValues {
  readonly family: string;
  readonly characteristic: string;
  readonly build: string;
  readonly builtAt: string;
  /** Canonical JSON of a `HistoryContext`. */
  readonly context: string;
  readonly n: number;
  readonly mean: number | null;
  readonly sumSquaredDeviations: number | null;
  readonly min: number | null;
  readonly max: number | null;
  readonly censored: number;
  readonly values: readonly RowValue[];
  readonly takenOut: readonly RowTakenOut[];
  readonly beside: BesideValues;
}

/** Fifteen digits: each engine reads a number of so many back as it was written, and the digest of a row holds it. */
const kept = (value: number | null): number | null => (value === null ? null : Number(value.toPrecision(15)));

type StoredSummary = NonNullable<NewRows['LotSummary']>[number];

/** What makes two rows say the same. */
const contentOf = (row: Omit<HistoryRow, 'position' | 'closedAt'>): string =>
  canonicalJson([
    row.builtAt,
    row.n,
    row.mean,
    row.sumSquaredDeviations,
    row.min,
    row.max,
    row.censored,
    row.values,
    row.takenOut,
    row.beside,
  ]);

const NOTHING = {
  n: 0,
  mean: null,
  sumSquaredDeviations: null,
  min: null,
  max: null,
  censored: 0,
  values: '[]',
  takenOut: '[]',
  takenOutCount: 0,
  beside: '{}',
};

const keyOf = ({
  family,
  characteristic,
  build,
  context,
}: Pick<SummarisedValues, 'family' | 'characteristic' | 'build' | 'context'>) =>
  [family, characteristic, build, context].join('\n');

/** Digest of a row of the history, over all that it says and the digest of the row before it. */
export const historyDigest = (row: Omit<StoredSummary, 'digest'>): string => sha256Hex(canonicalJson(row));

function byWant(
  wants: readonly HistoryWant[],
  rows: readonly (LotRow & { readonly want: number | bigint })[],
): LotRow[][] {
  const found: LotRow[][] = wants.map(() => []);
  for (const { want, ...row } of rows) found[Number(want)]!.push(row);
  return found;
}

/** What there is of a build in one characteristic. */
export interface BuildSummary
  extends Pick<HistoryRow, 'build' | 'builtAt' | 'n' | 'mean' | 'min' | 'max' | 'censored'> {
  readonly lot: string;
  readonly takenOut: number;
}

function together(a: BuildSummary, b: BuildSummary): BuildSummary {
  const n = a.n + b.n;
  const both = (of: 'min' | 'max') => [a[of], b[of]].filter((value) => value !== null);
  return {
    ...a,
    n,
    mean: n === 0 ? null : ((a.mean ?? 0) * a.n + (b.mean ?? 0) * b.n) / n,
    min: n === 0 ? null : Math.min(...both('min')),
    max: n === 0 ? null : Math.max(...both('max')),
    censored: a.censored + b.censored,
    takenOut: a.takenOut + b.takenOut,
  };
}

function buildsIn(rows: readonly LotRow[]): BuildSummary[] {
  const found = new Map<string, BuildSummary>();
  for (const row of rows) {
    const { lot, build, builtAt, n, mean, min, max, censored } = row;
    // Of hardly any something was taken out, and there are thousands.
    const takenOut = row.takenOut === '[]' ? 0 : (JSON.parse(row.takenOut) as RowTakenOut[]).length;
    const own = { lot, build, builtAt, n, mean, min, max, censored, takenOut };
    const known = found.get(`${lot} ${build}`);
    found.set(`${lot} ${build}`, known ? together(known, own) : own);
  }
  return [...found.values()];
}

/** The history of each family and characteristic: one row for each lot, build and context, appended and chained. */
export class Histories<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  heads(family: string, characteristics: readonly string[], seq = LAST_ENTRY): Promise<HistoryHeadRow[]> {
    return this.db.ask(this.db.sql.HISTORY_HEADS, family, seq, JSON.stringify(characteristics));
  }

  /** Of each characteristic that the family knows its head and the sums over what lots began before a moment. */
  async sums(
    family: string,
    before: string,
    from: string,
    except: string,
    characteristics: readonly string[],
  ): Promise<(HistoryHeadRow & { readonly parts: readonly HistoryPart[] })[]> {
    const asked = [family, before, from, except, JSON.stringify(characteristics)] as const;
    const rows = await this.db.ask(this.db.sql.HISTORY_SUMS, ...asked);
    return rows.map(({ nodes, ...head }) => ({ ...head, parts: JSON.parse(nodes) as HistoryPart[] }));
  }

  /** Rows that stood as of an entry, of lots in a characteristic of a family each. */
  ofLots(lots: readonly (Chained & { readonly lot: string })[], seq: number): Promise<(SummedRow & Chained)[]> {
    return this.db.ask(this.db.sql.HISTORY_OF_LOTS, seq, JSON.stringify(lots));
  }

  /** For each want its last rows, in build order. */
  async rows(wants: readonly HistoryWant[], most = LAST_ENTRY): Promise<LotRow[][]> {
    return byWant(wants, await this.db.ask(this.db.sql.HISTORY_ROWS, most, JSON.stringify(wants)));
  }

  /** For each want the last rows of which something was taken out, in build order, whatever their context. */
  async takenOut(wants: readonly HistoryWant[], most: number): Promise<LotRow[][]> {
    if (wants.length === 0) return [];
    return byWant(wants, await this.db.ask(this.db.sql.HISTORY_TAKEN_OUT, most, JSON.stringify(wants)));
  }

  /**
   * For each want all rows with values of the lots or builds that began last, in build order: no mean of one lacks a value.
   * So many rows are read from the end that whatever was not read began before these.
   */
  async rowsOfLastGroups(wants: readonly GroupWant[], most: number, take = 2 * most): Promise<LotRow[][]> {
    if (wants.length === 0) return [];
    const read = await this.rows(wants, take);
    const groups = wants.map((want, index) => lastGroups(want, read[index]!, take));
    const beyond = await this.db.ask(this.db.sql.HISTORY_LOTS_IN, JSON.stringify(groups.map((one) => one.beyond)));
    const names = groups.map((one, index) => {
      const older = new Set(JSON.parse(beyond[index]!.lots) as string[]);
      return one.names.filter((name) => !older.has(name)).slice(0, most);
    });
    const short = wants.filter((_, index) => names[index]!.length < most && groups[index]!.isCut);
    const more = short.length === 0 ? [] : await this.rowsOfLastGroups(short, most, 4 * take);
    return wants.map((want, index) => {
      const again = more[short.indexOf(want)];
      return again ?? read[index]!.filter((row) => names[index]!.includes(groupOf(want, row)));
    });
  }

  /** Lots of a family of which the history knows no value of a characteristic, in the order of their codes. */
  async lotsWithout(family: string, characteristic: string): Promise<string[]> {
    return (await this.db.ask(this.db.sql.LOTS_WITHOUT_HISTORY, family, characteristic)).map(({ lot }) => lot);
  }

  /** Every build of a family in one characteristic as it stands now, values of all contexts together, in build order. */
  async builds(family: string, characteristic: string): Promise<BuildSummary[]> {
    const want = { family, characteristic, seq: LAST_ENTRY, before: ALWAYS, from: NEVER, to: ALWAYS };
    return (await this.buildsOf([want]))[0]!;
  }

  /** The same for each want. */
  async buildsOf(wants: readonly HistoryWant[]): Promise<BuildSummary[][]> {
    return (await this.rows(wants)).map(buildsIn);
  }

  /**
   * Appends what a lot file says of its values where that differs from what stands there. What it says no more gets a row
   * that holds nothing. Unchanged values store nothing.
   */
  async add(
    this: Histories<Recorder>,
    lot: string,
    dossierDigest: string,
    rows: readonly SummarisedValues[],
  ): Promise<void> {
    const known = new Map((await this.db.ask(this.db.sql.HISTORY_OF_LOT, lot)).map((row) => [keyOf(row), row]));
    const told = rows.map((row) => ({
      ...row,
      mean: kept(row.mean),
      sumSquaredDeviations: kept(row.sumSquaredDeviations),
      values: JSON.stringify(row.values),
      takenOut: JSON.stringify(row.takenOut),
      beside: canonicalJson(row.beside),
      takenOutCount: row.takenOut.length,
    }));
    const keys = new Set(told.map(keyOf));
    const gone = [...known.values()]
      .filter((row) => !keys.has(keyOf(row)))
      .map(({ position: _, closedAt: __, ...row }) => ({ ...row, ...NOTHING }));
    const changed = [...told, ...gone].filter((row) => {
      const old = known.get(keyOf(row));
      return old === undefined || contentOf(old) !== contentOf(row);
    });
    if (changed.length === 0) return;
    const placed: StoredSummary[] = [];
    const heads = await this.headsOf(changed);
    for (const row of changed) {
      const chain = chainOf(row);
      const head = heads.get(chain) ?? { position: 0, digest: '' };
      const bare = {
        ...row,
        lot,
        dossierDigest,
        closedAt: new Date(row.builtAt).toISOString(),
        position: head.position + 1,
        replaces: known.get(keyOf(row))?.position ?? null,
        previous: head.digest,
      };
      const digest = historyDigest(bare);
      placed.push({ ...bare, digest });
      heads.set(chain, { position: bare.position, digest });
    }
    const entry = { type: 'lot-summarised', lot, dossier: dossierDigest, rows: placed.length } as const;
    await this.db.recorder.record(entry, { LotSummary: placed });
    await sumAgain(this.db, lot, placed, [...known.values()]);
  }

  /** Where each chain that rows belong to ends now. */
  private async headsOf(rows: readonly Chained[]): Promise<Map<string, { position: number; digest: string }>> {
    const found = new Map<string, { position: number; digest: string }>();
    for (const family of new Set(rows.map((row) => row.family))) {
      const characteristics = new Set(rows.flatMap((row) => (row.family === family ? [row.characteristic] : [])));
      for (const head of await this.heads(family, [...characteristics])) {
        found.set(chainOf({ family, characteristic: head.characteristic }), head);
      }
    }
    return found;
  }
}
