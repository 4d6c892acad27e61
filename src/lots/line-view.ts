import type { LotLine } from './lot-line.js';
import type { ViewOfLots } from './make-kept.js';

/** The line of a lot in lists. What makes it is loaded when a lot was touched: most commands only read it. */
export const LINE_VIEW: ViewOfLots<LotLine> = {
  view: 'line',
  url: new URL('./lot-line.js', import.meta.url),
  load: () => import('./lot-line.js'),
};
