import { mayRestOn } from '../dossier/impact-results.js';
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
  for (const { body } of await entries.tiedToAny('impact', 'lot', [...lots], 'touches lot')) {
    const { impact, cause, conclusion, from, to } = body;
    const touched: string[] = [];
    for (const lot of (body.lots ?? []).filter((one) => lots.has(one))) {
      const { rows } = await results.ofLot(lot);
      const own = rows.filter((row) => row.characteristic === characteristic && row.status === 'current');
      if (own.some((row) => mayRestOn(row, { kind: cause.kind, key: cause.key, from, to }))) touched.push(lot);
    }
    if (touched.length > 0) found.push({ impact, cause, conclusion, lots: touched });
  }
  return found;
}
