import { Controller, Get, Header } from '@nestjs/common';
import { timeText } from '../dossier/time-text.js';
import { UPKEEP } from '../kinds/machine.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';

/** So many of each sort are listed, those that are used now first; *Find* knows all. */
const MOST_LISTED = 60;

/** What the cell has: materials and gas as received, powder, equipment. */
@Controller('materials')
export class MaterialsController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async show(): Promise<string> {
    const today = this.store.clock.now().toISOString().slice(0, 10);
    const list = this.store.read.entries;
    const receipts = (await list.list('receipt')).map(({ body }) => body);
    const states = (await list.list('powder-state')).map(({ body }) => body);
    return this.pages.render('materials', PAGE_TITLES.materials, {
      receipts: listed(receipts, ({ receivedAt }) => receivedAt).map((receipt) => ({
        ...receipt,
        received: receipt.receivedAt.slice(0, 10),
        isOver: receipt.expiry !== undefined && receipt.expiry < today,
      })),
      moreReceipts: Math.max(0, receipts.length - MOST_LISTED),
      states: listed(states, ({ madeAt }) => madeAt).map((state) => ({ ...state, made: timeText(state.madeAt) })),
      moreStates: Math.max(0, states.length - MOST_LISTED),
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

/** The latest of many, first. */
const listed = <T>(all: readonly T[], at: (one: T) => string): T[] =>
  [...all].sort((a, b) => (at(a) < at(b) ? 1 : -1)).slice(0, MOST_LISTED);

function lastDue(what: string, done: readonly { readonly due: string }[], today: string) {
  const due = done
    .map((one) => one.due)
    .sort()
    .at(-1);
  if (due === undefined) return [];
  const day = due.slice(0, 10);
  return [{ what, on: day, isOver: day < today }];
}
