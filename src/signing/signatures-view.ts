import type { ViewOfLots } from '../lots/make-kept.js';
import type { Pending } from './pending.js';

/** What is not signed of a lot. */
export const SIGNATURES_VIEW: ViewOfLots<readonly Pending[]> = {
  view: 'signatures',
  url: new URL('./lot-signatures.js', import.meta.url),
  load: () => import('./lot-signatures.js'),
};
