/*
 * Values of one build are not independent (docs/trade.md 6.4). How far builds differ is told by the means of builds with as
 * many values each: a few numbers for each size, however many builds there are.
 */

/** So many lots, or builds, that have values in the same contexts, and bounds in the same: places in the list of contexts. */
export interface Alike {
  readonly values: readonly number[];
  readonly bounds: readonly number[];
  readonly count: number;
}

/** Builds that have as many values in each of the same contexts, and bounds in the same. */
export interface AlikeBuilds extends Alike {
  /** How many values each of them has in each of the places that are named in `values`. */
  readonly sizes: readonly number[];
  /** For each such place the mean over the builds of their means in it. */
  readonly means: readonly number[];
  /** Row by row the sums over the builds of products of what their means in two such places deviate. */
  readonly products: readonly number[];
}

export const buildName = ({ values, bounds, sizes }: AlikeBuilds): string => JSON.stringify([values, bounds, sizes]);

/** @param rows of one build, one for each context. */
export function buildOfRows<Row extends { readonly n: number; readonly mean: number | null }>(
  rows: readonly Row[],
  placeOf: (row: Row) => number,
): Pick<AlikeBuilds, 'sizes' | 'means' | 'products'> {
  const own = rows.filter(({ n }) => n > 0).sort((a, b) => placeOf(a) - placeOf(b));
  return {
    sizes: own.map(({ n }) => n),
    means: own.map(({ mean }) => mean!),
    products: Array(own.length ** 2).fill(0),
  };
}

/** What `pooled` does for numbers, for lists of them. */
export function bothBuilds(a: AlikeBuilds, b: AlikeBuilds): AlikeBuilds {
  const count = a.count + b.count;
  const apart = a.means.map((mean, index) => b.means[index]! - mean);
  const width = apart.length;
  return {
    ...a,
    count,
    means: a.means.map((mean, index) => mean + (apart[index]! * b.count) / count),
    products: a.products.map(
      (sum, index) =>
        sum +
        b.products[index]! +
        (apart[Math.floor(index / width)]! * apart[index % width]! * a.count * b.count) / count,
    ),
  };
}
