import { Injectable, type OnModuleDestroy } from '@nestjs/common';
import { NotFoundError } from '../base/errors.js';
import { Store } from '../store/store.js';
import { KeptLots, type Told } from './kept-lots.js';
import { LINE_VIEW } from './line-view.js';
import type { LotLine } from './lot-line.js';

/** Lists lots by what is kept of each. Nothing is assessed, and no lot is frozen that nobody touched. */
@Injectable()
export class LotOverview implements OnModuleDestroy {
  private readonly kept: KeptLots<LotLine>;

  constructor(private readonly store: Store) {
    this.kept = new KeptLots(store, LINE_VIEW);
  }

  /** First those that are not decided, needed soonest first; then the others, the latest first. */
  async list(): Promise<LotLine[]> {
    const lines = (await this.kept.all()).sort(bySoonest);
    return [...lines.filter(({ closed }) => !closed), ...lines.filter(({ closed }) => closed).reverse()];
  }

  /** The same, so many of them. */
  page(page: { readonly skip: number; readonly most: number }): Promise<Told<LotLine>> {
    return this.kept.page(page);
  }

  /** Those that are not decided, and those that ask something of people all the same. */
  asking(): Promise<Told<LotLine>> {
    return this.kept.asking();
  }

  /** How many lots there are, how many are not decided, and how many wait to be assessed again. */
  counts(): Promise<{ lots: number; open: number; awaiting: number }> {
    return this.kept.counts();
  }

  /** Lines of some lots, in no order; what is no lot is left out. */
  ofLots(lots: readonly string[]): Promise<LotLine[]> {
    return this.kept.ofLots(lots);
  }

  /** @param isOver true when nobody wants it any more. */
  catchUp(isOver: () => boolean): Promise<void> {
    return this.kept.catchUp(isOver);
  }

  /** The line of one lot. @throws NotFoundError. */
  async of(lot: string): Promise<LotLine> {
    const [line] = await this.kept.ofLots([lot]);
    if (line === undefined) throw new NotFoundError('lot', lot);
    return line;
  }

  /** What a command touched it makes anew at its end: then the next one finds it. */
  async onModuleDestroy(): Promise<void> {
    if (this.store.hasChanged) await this.kept.settle();
  }
}

/** As the index of the store has it. */
const bySoonest = (a: LotLine, b: LotLine): number =>
  compare(a.neededBy ?? '9999', b.neededBy ?? '9999') || compare(a.lot, b.lot);

const compare = (a: string, b: string): number => Number(a > b) - Number(a < b);
