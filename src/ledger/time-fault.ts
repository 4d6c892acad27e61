/** A head of so many entries with the time at which an authority stamped it. */
export interface StampedHead {
  readonly size: number;
  readonly at: string;
  readonly by: string;
}

/** Why somebody cannot have signed or acted when it is said. */
export type TimeFault =
  | { readonly code: 'before an earlier entry'; readonly at: string; readonly latest: string }
  | { readonly code: 'before a stamped head'; readonly at: string; readonly stamped: StampedHead }
  | { readonly code: 'after its own entry'; readonly at: string; readonly entry: string };
