import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { UPKEEP } from '../kinds/machine.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { STOCK } from '../report/phrases/stock.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { RowPlace } from '../web/turned.js';
import { consumablesInUse, powderOnStock, receiptStock, SHOWN_RECEIPTS } from './stock-view.js';

const StockQuery = z.strictObject({
  show: z.enum(SHOWN_RECEIPTS).default('all').describe('receipts that stand so'),
  receipt: RowPlace.describe('the first receipt that is shown'),
  state: RowPlace.describe('the first powder state'),
  consumable: RowPlace.describe('the first consumable'),
});
type StockQuery = z.infer<typeof StockQuery>;

/** What the cell has: materials and gas as received, powder, what wears out, equipment. */
@Controller('materials')
export class MaterialsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async show(@Query({ schema: StockQuery }) asked: StockQuery): Promise<string> {
    const today = this.store.clock.now().toISOString().slice(0, 10);
    const { read } = this.store;
    const list = read.entries;
    return this.pages.render('materials', PAGE_TITLES.materials, {
      asked,
      shown: STOCK.shown,
      receipts: await receiptStock(read, today, asked.show, asked.receipt),
      states: await powderOnStock(read, asked.state),
      consumables: await consumablesInUse(read, asked.consumable),
      machines: (await list.list('machine')).map(({ body }) => ({
        ...body,
        due: UPKEEP.flatMap((what) =>
          lastDue(
            what,
            (body.upkeep ?? []).filter((one) => one.what === what),
            today,
          ),
        ),
      })),
      instruments: (await list.list('instrument')).map(({ body }) => ({
        ...body,
        due: lastDue('calibration', body.calibrations, today),
      })),
    });
  }
}

function lastDue(what: string, done: readonly { readonly due: string }[], today: string) {
  const due = done
    .map((one) => one.due)
    .sort()
    .at(-1);
  if (due === undefined) return [];
  const day = due.slice(0, 10);
  return [{ what, on: day, isOver: day < today }];
}
