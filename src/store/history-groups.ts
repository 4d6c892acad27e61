import type { HistoryWant, LotRow } from './questions.js';

export interface GroupWant extends HistoryWant {
  readonly by: 'lot' | 'build';
}

/** The lots or builds in rows that were read from the end: of what was read whole, those that began last come first. */
export interface LastGroups {
  readonly names: readonly string[];
  /** Asks which of these lots have rows beyond those that were read: they began earlier than what was read of them says. */
  readonly beyond: HistoryWant & { readonly lots: readonly string[] };
  /** There may be further rows. */
  readonly isCut: boolean;
}

export const groupOf = ({ by }: GroupWant, row: LotRow): string => (by === 'lot' ? row.lot : row.build);

/** @param rows the last ones that are wanted, at most `most`, in build order. */
export function lastGroups(want: GroupWant, rows: readonly LotRow[], most: number): LastGroups {
  const isCut = rows.length === most;
  // Of what was closed in the same moment as the first row that was read, some may not have been read.
  const end = isCut ? rows[0]!.closedAt : '';
  const began = new Map<string, string>();
  for (const row of rows) {
    const name = groupOf(want, row);
    if (row.n > 0 && !began.has(name)) began.set(name, row.closedAt);
  }
  const whole = [...began].filter(([, closedAt]) => closedAt > end);
  const names = whole.sort(([a, x], [b, y]) => (x === y ? (a < b ? 1 : -1) : x < y ? 1 : -1)).map(([name]) => name);
  // All of a build was closed in one moment.
  const lots = isCut && want.by === 'lot' ? names : [];
  const before = isCut ? new Date(Date.parse(end) + 1).toISOString() : end;
  return { names, beyond: { ...want, before, lots }, isCut };
}
