/** A lot, how many of its items are nonconforming, and how many items are drawn without putting back. */
export interface Draw {
  readonly lotSize: number;
  readonly nonconforming: number;
  readonly n: number;
}

/**
 * P(found ≤ accept) when drawing without replacement. Terms follow from their neighbours by ratios and are scaled by
 * their sum, so nothing overflows and nothing cancels; relative error about 1e-13.
 * Whole numbers with 0 ≤ nonconforming, n ≤ lotSize.
 */
export function hypergeometricCdf(accept: number, { lotSize, nonconforming, n }: Draw): number {
  const first = Math.max(0, n - (lotSize - nonconforming));
  const last = Math.min(n, nonconforming);
  if (accept < first) return 0;
  if (accept >= last) return 1;
  const mode = Math.min(last, Math.max(first, Math.floor(((n + 1) * (nonconforming + 1)) / (lotSize + 2))));
  const up = (found: number) =>
    ((nonconforming - found) * (n - found)) / ((found + 1) * (lotSize - nonconforming - n + found + 1));
  let inside = 0;
  let outside = 0;
  const add = (found: number, term: number) => {
    if (found <= accept) inside += term;
    else outside += term;
  };
  let term = 1;
  for (let found = mode; found <= last && term > 0; found++) {
    add(found, term);
    term *= up(found);
  }
  term = 1;
  for (let found = mode - 1; found >= first && term > 0; found--) {
    term /= up(found);
    add(found, term);
  }
  return inside / (inside + outside);
}
