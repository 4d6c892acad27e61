import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { NotFoundError } from '../base/errors.js';
import { DesignIndex } from '../design-history/design-index.js';
import { entryTies } from '../design-history/entry-ties.js';
import { Day, Moment } from '../kinds/fields.js';
import { designAddress } from '../report/page-addresses.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { readAsOf } from './as-of.js';
import { DesignAnswer, designAnswer } from './design-answer.js';
import { DesignFiles } from './design-files.js';
import { designView, entryView } from './design-view.js';

const identifier = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);

const DesignQuery = z.strictObject({
  family: identifier('a family').describe('code of the family'),
  asOf: z
    .union([Day, Moment])
    .optional()
    .describe('day, to its end (UTC), or moment: what was on record then counts, and nothing later'),
});
type DesignQuery = z.infer<typeof DesignQuery>;

const EntryQuery = z.strictObject({
  family: identifier('a family'),
  kind: identifier('a kind'),
  key: identifier('a code'),
});
type EntryQuery = z.infer<typeof EntryQuery>;

/** The design history of a family. */
@Controller()
export class DesignController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly designs: DesignFiles,
  ) {}

  @Access('signed in')
  @Get('design')
  @Header(...HTML)
  async show(@Query({ schema: DesignQuery }) query: DesignQuery): Promise<string> {
    const answer = designAnswer(await this.facts(query));
    return this.pages.render('design', PAGE_TITLES.designOf(query.family), { view: designView(answer) });
  }

  @Access('signed in')
  @Get('design/entry')
  @Header(...HTML)
  async entry(@Query({ schema: EntryQuery }) { family, kind, key }: EntryQuery): Promise<string> {
    const facts = await this.facts({ family });
    const found = entryTies(new DesignIndex(facts), { kind, key });
    if (found === undefined) throw new NotFoundError(kind, key);
    const gaps = designAnswer(facts).gaps.filter(({ subjects }) =>
      subjects.some((subject) => subject.kind === kind && subject.key === key),
    );
    return this.pages.render('design-entry', PAGE_TITLES.designEntry(kind, key), {
      view: entryView(facts, found, gaps),
      back: { text: PAGE_TITLES.designOf(family), href: designAddress(family) },
    });
  }

  @Access('signed in')
  @Operation({ summary: 'Design history of a family: gaps, and ways from need to test', answer: DesignAnswer })
  @Get('api/v1/design')
  async report(@Query({ schema: DesignQuery }) query: DesignQuery) {
    return designAnswer(await this.facts(query));
  }

  private facts({ family, asOf }: DesignQuery) {
    return this.designs.of(family, asOf === undefined ? undefined : readAsOf(asOf, this.store.clock));
  }
}
