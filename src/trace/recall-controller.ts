import { Controller, Get, Header, Param } from '@nestjs/common';
import { placesOfImplants } from '../lots/unit-places.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { placeStateText, placeText } from '../report/phrases/places.js';
import { RECALL_LINES, reconciledText, timeUsedText } from '../report/phrases/recall.js';
import { documentStanding } from '../signing/document-standing.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';

/** Recalls and drills: what was expected, what was found where, and how long it took. */
@Controller('recalls')
export class RecallController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async list(): Promise<string> {
    const all = await this.store.read.entries.list('recall');
    const recalls = all
      .sort((a, b) => Date.parse(b.body.started) - Date.parse(a.body.started))
      .map(({ body }) => ({ ...body, isDrill: body.drill === 'yes', ...this.said(body) }));
    return this.pages.render('recalls', PAGE_TITLES.recalls, { recalls });
  }

  @Access('signed in')
  @Get(':code')
  @Header(...HTML)
  async one(@Param('code', NAMED) code: string): Promise<string> {
    const { body } = await this.store.read.entries.currentOrThrow('recall', code);
    const placed = await placesOfImplants(this.store.read, body.expected);
    const found = new Map((body.found ?? []).map((one) => [one.implant, one]));
    const title = RECALL_LINES.title(code, body.drill === 'yes');
    return this.pages.render('recall', title, {
      recall: body,
      isDrill: body.drill === 'yes',
      ...this.said(body),
      revisions: await documentStanding(this.store, 'recall', code),
      units: body.expected.map((serial) => {
        const unit = placed.find(({ key }) => key === serial);
        const one = found.get(serial);
        return {
          ...{ serial, lot: unit?.lot ?? '', holder: unit?.holder?.institution ?? '' },
          where: unit ? placeStateText(unit) : '',
          found: one ? placeText(one.place) : '',
          at: one?.at ?? '',
          differs: one !== undefined && unit !== undefined && one.place !== unit.place,
        };
      }),
    });
  }

  private said(body: {
    readonly expected: readonly string[];
    readonly found?: readonly { readonly implant: string }[] | undefined;
    readonly started: string;
    readonly closed?: string | undefined;
    readonly aimHours?: string | undefined;
  }) {
    const found = new Set((body.found ?? []).map(({ implant }) => implant));
    const until = body.closed ?? this.store.clock.now().toISOString();
    return {
      time: timeUsedText(body.started, until, body.aimHours, body.closed !== undefined),
      reconciled: reconciledText(body.expected.filter((serial) => found.has(serial)).length, body.expected.length),
    };
  }
}
