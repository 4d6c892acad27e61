import { Controller, Get, Header } from '@nestjs/common';
import { digestOf } from '../dossier/canonical.js';
import { covers } from '../dossier/statement.js';
import { closurePart } from '../kinds/nonconformity.js';
import { type NonconformityOnRecord, nonconformitiesBySort } from '../lots/nonconformities-by-sort.js';
import { DISPOSITIONS } from '../report/phrases/dispositions.js';
import { NONCONFORMITY_LIST, sortText } from '../report/phrases/nonconformity-list.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';

/** What was not as it must be, by its sort with the lots that it touched: what happens again is seen. */
@Controller('nonconformities')
export class NonconformitiesController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async list(): Promise<string> {
    const { read } = this.store;
    const approved = (await read.signatures.ofKind('nonconformity')).map(({ signed }) => signed.statement);
    const isClosed = ({ body }: NonconformityOnRecord): boolean => {
      const closure = closurePart(body, digestOf);
      return closure !== undefined && approved.some((statement) => covers(statement, closure.digest));
    };
    const actions = await read.entries.list('corrective-action');
    const sorts = (await nonconformitiesBySort(read)).map(({ sort, all, lots }) => ({
      sort: sort === null ? NONCONFORMITY_LIST.noSort : sortText(sort),
      count: all.length,
      open: all.filter((one) => !isClosed(one)).length,
      lots,
      all: all.map((one) => ({
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
      })),
    }));
    return this.pages.render('nonconformities', PAGE_TITLES.nonconformities, { sorts });
  }
}
