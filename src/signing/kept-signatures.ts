import { Injectable } from '@nestjs/common';
import { KeptLots } from '../lots/kept-lots.js';
import { Store } from '../store/store.js';
import type { LotSigning } from './lot-ahead.js';
import { SIGNATURES_VIEW } from './signatures-view.js';

/** What is kept of the signatures of lots, once for all who ask: no lot is made by two of them at once. */
@Injectable()
export class KeptSignatures {
  readonly lots: KeptLots<LotSigning>;

  constructor(store: Store) {
    this.lots = new KeptLots(store, SIGNATURES_VIEW);
  }
}
