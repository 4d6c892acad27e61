import type { Nonconformity, NonconformitySort } from '../kinds/nonconformity.js';
import type { StoredRevision } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';

/** Nonconformities of one sort, with all lots of which they touch a part. */
export interface NonconformitiesOfSort {
  /** Null where nobody named one. */
  readonly sort: NonconformitySort | null;
  readonly all: readonly NonconformityOnRecord[];
  readonly lots: readonly string[];
}

export interface NonconformityOnRecord {
  readonly key: string;
  readonly body: Nonconformity;
  readonly lots: readonly string[];
}

/** Every nonconformity on record by its sort, the most frequent first: what happens again is seen. */
export async function nonconformitiesBySort({ entries }: Pick<Reads, 'entries'>): Promise<NonconformitiesOfSort[]> {
  const sorts = new Map<NonconformitySort | null, NonconformityOnRecord[]>();
  for (const { key, body } of await entries.list('nonconformity')) {
    const one = { key, body, lots: await lotsOf({ entries }, body) };
    const sort = body.sort ?? null;
    sorts.set(sort, [...(sorts.get(sort) ?? []), one]);
  }
  return [...sorts]
    .map(([sort, all]) => ({ sort, all, lots: [...new Set(all.flatMap(({ lots }) => lots))].sort() }))
    .sort((a, b) => b.all.length - a.all.length);
}

/** The lots of the implants and coupons that it touches. */
async function lotsOf({ entries }: Pick<Reads, 'entries'>, { touches }: Nonconformity): Promise<string[]> {
  const lots = new Set<string>();
  for (const { kind, key } of touches) {
    if (kind !== 'implant' && kind !== 'coupon') continue;
    const part: StoredRevision<'implant' | 'coupon'> | undefined = await entries.current(kind, key);
    if (part) lots.add(part.body.lot);
  }
  return [...lots].sort();
}
