import type { ViewOfLots } from '../lots/make-kept.js';
import type { LotAhead } from './lot-ahead.js';
import type { Pending } from './pending.js';

export interface LotSigning {
  readonly lot: string;
  /** What is not signed of it. */
  readonly pending: readonly Pending[];
  /** Null once each of its implants is decided. */
  readonly ahead: LotAhead | null;
}

/** What is not signed of a lot, and what lies ahead of it. */
export const SIGNATURES_VIEW: ViewOfLots<LotSigning> = {
  view: 'signatures',
  url: new URL('./lot-signatures.js', import.meta.url),
  load: () => import('./lot-signatures.js'),
};
