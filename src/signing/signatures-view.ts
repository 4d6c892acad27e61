import type { ViewOfLots } from '../lots/make-kept.js';
import type { LotSigning } from './lot-ahead.js';

/** What is not signed of a lot, and what lies ahead of it. */
export const SIGNATURES_VIEW: ViewOfLots<LotSigning> = {
  view: 'signatures',
  url: new URL('./lot-signatures.js', import.meta.url),
  load: () => import('./lot-signatures.js'),
};
