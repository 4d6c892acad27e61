import { comesFromOneOf, layWithin, restingOn } from '../dossier/impact-results.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Impact } from '../kinds/after-release/impact.js';
import type { Reads } from './repositories.js';

/** Something that was found off, and lots of which it touches results. */
export interface ImpactOn extends Pick<Impact, 'impact' | 'cause' | 'conclusion'> {
  readonly lots: readonly string[];
}

/** Impacts that touch current results of some lots in one characteristic. Results are read of lots that an impact names alone. */
export async function impactsOn(
  { entries, results }: Pick<Reads, 'entries' | 'results'>,
  characteristic: string,
  lots: ReadonlySet<string>,
): Promise<ImpactOn[]> {
  const found: ImpactOn[] = [];
  if (lots.size === 0) return found;
  const known = new Map<string, readonly ResultRow[]>();
  const rowsOf = async (lot: string): Promise<readonly ResultRow[]> => {
    const rows =
      known.get(lot) ?? (await results.ofLot(lot)).rows.filter((row) => row.characteristic === characteristic);
    known.set(lot, rows);
    return rows;
  };
  for (const { body } of await entries.tiedToAny('impact', 'lot', [...lots], 'touches lot')) {
    const { impact, cause, conclusion, from, to } = body;
    const touched: string[] = [];
    const exposures = await exposuresBy(entries, body);
    for (const lot of (body.lots ?? []).filter((one) => lots.has(one))) {
      const rows = await rowsOf(lot);
      const isNamed = restingOn(rows, { kind: cause.kind, key: cause.key, from, to }).length > 0;
      if (isNamed || (await someComesFrom(entries, exposures, lot, rows))) touched.push(lot);
    }
    if (touched.length > 0) found.push({ impact, cause, conclusion, lots: touched });
  }
  return found;
}

/** Exposures by an instrument in the time in which it was off. What else was off is named by each result, or by none. */
async function exposuresBy(entries: Reads['entries'], { cause, ...time }: Impact): Promise<ReadonlySet<string>> {
  if (cause.kind !== 'instrument') return new Set();
  const all = await entries.tiedTo('exposure', 'instrument', cause.key, 'measured with');
  return new Set(all.flatMap(({ key, body }) => (layWithin(body, time) ? [key] : [])));
}

async function someComesFrom(
  entries: Reads['entries'],
  exposures: ReadonlySet<string>,
  lot: string,
  rows: readonly ResultRow[],
): Promise<boolean> {
  if (exposures.size === 0) return false;
  const { specification, revision } = (await entries.currentOrThrow('lot', lot)).body.specification;
  const { body } = (await entries.revision('specification', specification, revision))!;
  return rows.some((row) => row.status === 'current' && comesFromOneOf(exposures, row, body));
}
