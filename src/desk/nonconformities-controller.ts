import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { digestOf } from '../dossier/canonical.js';
import { covers } from '../dossier/statement.js';
import { closurePart } from '../kinds/nonconformity.js';
import { type NonconformityOnRecord, nonconformitiesBySort } from '../lots/nonconformities-by-sort.js';
import { capital } from '../report/phrases/capital.js';
import { DISPOSITIONS } from '../report/phrases/dispositions.js';
import { NONCONFORMITY_LIST, sortText } from '../report/phrases/nonconformity-list.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { anyOf, ofType, Remembered, revisionsOf } from '../store/remembered.js';
import type { Reads } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { RowPlace, turned } from '../web/turned.js';

/** So many stand on a page; more are turned over. */
const ON_A_PAGE = 50;
/** Lots of a sort that are named; of more how many. */
const MOST_LOTS = 12;

const ListQuery = z.strictObject({ row: RowPlace.describe('the first nonconformity that is shown') });
type ListQuery = z.infer<typeof ListQuery>;

/** What was not as it must be, by its sort with the lots that it touched: what happens again is seen. */
@Controller('nonconformities')
export class NonconformitiesController {
  private readonly sorts = new Remembered(
    anyOf(revisionsOf('nonconformity', 'corrective-action', 'implant', 'coupon'), ofType('statement-signed')),
    sortsOf,
  );

  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async list(@Query({ schema: ListQuery }) { row }: ListQuery): Promise<string> {
    const sorts = await this.sorts.of(this.store.read);
    const page = turned(
      sorts.flatMap(({ all }) => all),
      row,
      ON_A_PAGE,
    );
    return this.pages.render('nonconformities', PAGE_TITLES.nonconformities, { sorts, page });
  }
}

/** Of each sort how many there are, in which lots, and each of them in words. */
async function sortsOf(read: Reads) {
  const approved = (await read.signatures.ofKind('nonconformity')).map(({ signed }) => signed.statement);
  const isClosed = ({ body }: NonconformityOnRecord): boolean => {
    const closure = closurePart(body, digestOf);
    return closure !== undefined && approved.some((statement) => covers(statement, closure.digest));
  };
  const actions = await read.entries.list('corrective-action');
  return (await nonconformitiesBySort(read)).map(({ sort, all, lots }) => {
    const title = capital(sort === null ? NONCONFORMITY_LIST.noSort : sortText(sort));
    const rows = all.map((one) => ({
      sort: title,
      key: one.key,
      says: one.body.says,
      lots: one.lots,
      becomes: (one.body.disposition ?? []).map(({ units, as, clause }) =>
        NONCONFORMITY_LIST.becomes(units, DISPOSITIONS[as], clause),
      ),
      closed: isClosed(one),
      actions: actions
        .filter(({ body }) => body.triggers.some(({ kind, key }) => kind === 'nonconformity' && key === one.key))
        .map(({ key }) => key),
    }));
    return {
      sort: title,
      count: rows.length,
      open: rows.filter(({ closed }) => !closed).length,
      lots: lots.slice(0, MOST_LOTS),
      moreLots: Math.max(0, lots.length - MOST_LOTS),
      all: rows,
    };
  });
}
