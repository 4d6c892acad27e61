import { exposureOf, restingOn } from '../dossier/impact-results.js';
import type { ResultRow } from '../dossier/tables.js';
import type { Impact } from '../kinds/after-release/impact.js';
import type { Reads } from './repositories.js';

/** Something that was found off, and lots of which it touches results. */
export interface ImpactOn extends Pick<Impact, 'impact' | 'cause' | 'conclusion'> {
  readonly lots: readonly string[];
}

/** Methods of exposures, by the keys of these. */
const NO_METHODS: ReadonlyMap<string, string> = new Map();

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
  const exposuresWith = async (instrument: string): Promise<ReadonlyMap<string, string>> => {
    const exposures = await entries.tiedTo('exposure', 'instrument', instrument, 'measured with');
    return new Map(exposures.map(({ key, body }) => [key, body.protocol.method]));
  };
  for (const { body } of await entries.tiedToAny('impact', 'lot', [...lots], 'touches lot')) {
    const { impact, cause, conclusion, from, to } = body;
    const touched: string[] = [];
    const methods = cause.kind === 'instrument' ? await exposuresWith(cause.key) : NO_METHODS;
    for (const lot of (body.lots ?? []).filter((one) => lots.has(one))) {
      const rows = await rowsOf(lot);
      const beside = rows.filter((row) => methods.size > 0 && methods.get(exposureOf(row)) === row.method);
      const found = { kind: cause.kind, key: cause.key, from, to };
      // A result names the first instrument of its exposure alone.
      const all = [...rows, ...beside.map((row) => ({ ...row, instrument: cause.key }))];
      if (restingOn(all, found).length > 0) touched.push(lot);
    }
    if (touched.length > 0) found.push({ impact, cause, conclusion, lots: touched });
  }
  return found;
}
