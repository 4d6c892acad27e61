import { Controller, Get, Header, Query } from '@nestjs/common';
import { capabilityView } from '../desk/capability-view.js';
import type { Family } from '../kinds/family.js';
import type { Specification } from '../kinds/specification.js';
import { EARLIER_VERSION } from '../report/phrases/earlier-version.js';
import { Store } from '../store/store.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';
import { readRequest } from '../web/request-checks.js';
import { TrendQuery } from '../web/request-schemas.js';
import { FamilyTrend } from './family-trend.js';

/** Characteristics of families over their builds. */
@Controller('trend')
export class TrendController {
  constructor(
    private readonly pages: Pages,
    private readonly store: Store,
    private readonly trend: FamilyTrend,
  ) {}

  @Access('signed in')
  @Get()
  @Header(...HTML)
  async show(@Query() query: Record<string, unknown>): Promise<string> {
    if (Object.keys(query).length === 0)
      return this.pages.render('trends', 'Trend', { families: await this.families() });
    const { family, characteristic } = readRequest(TrendQuery, query);
    const report = await this.trend.trend(characteristic, family);
    const capability = capabilityView(report.characteristic, report.capability);
    return this.pages.render('trend', `${report.characteristic.title} of family ${family}`, {
      report,
      capability,
      earlierVersion: EARLIER_VERSION,
    });
  }

  /** Each family with the characteristics of its current specifications. */
  private async families() {
    const specifications = (await this.store.read.list('specification')).map((item) => item.body as Specification);
    return (await this.store.read.list('family')).map(({ body }) => ({
      family: body as Family,
      specifications: specifications.filter((item) => item.family === (body as Family).family),
    }));
  }
}
