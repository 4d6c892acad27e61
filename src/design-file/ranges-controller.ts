import { Controller, Get, Header, Query } from '@nestjs/common';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { CaseRangesAnswer, RangesAnswer } from '../lots/ranges/ranges-answer.js';
import { ShownRanges } from '../lots/ranges/shown-ranges.js';
import { designAddress } from '../report/page-addresses.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { RANGES } from '../report/phrases/ranges.js';
import { Access } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Operation } from '../web/operation.js';
import { Pages } from '../web/pages.js';
import { rangesView } from './ranges-view.js';

const code = (what: string) => z.string().trim().min(1, what).max(200, `${what} of at most 200 characters`);
const FamilyQuery = z.strictObject({ family: code('a family').describe('code of the family') });
type FamilyQuery = z.infer<typeof FamilyQuery>;
const PageQuery = FamilyQuery.extend({ case: z.string().trim().max(200).default('') });
type PageQuery = z.infer<typeof PageQuery>;
const CaseQuery = z.strictObject({ case: code('a case').describe('code of the case') });
type CaseQuery = z.infer<typeof CaseQuery>;

/** What a family has shown so far, and where a case lies beside it. */
@Controller()
export class RangesController {
  constructor(
    private readonly pages: Pages,
    private readonly ranges: ShownRanges,
  ) {}

  @Access('signed in')
  @Get('design/ranges')
  @Header(...HTML)
  async show(@Query({ schema: PageQuery }) query: PageQuery): Promise<string> {
    const { family } = query;
    const of = query.case === '' ? undefined : await this.ranges.ofCase(query.case);
    if (of !== undefined && of.family !== family) {
      throw new AppError('BAD_INPUT', RANGES.ofOther(of.case, of.family, family));
    }
    const answer = await this.ranges.ofFamily(family);
    const title = of === undefined ? PAGE_TITLES.rangesOf(family) : PAGE_TITLES.rangesOfCase(of.case, family);
    return this.pages.render('ranges', title, {
      view: rangesView(answer, of),
      back: { text: PAGE_TITLES.designOf(family), href: designAddress(family) },
    });
  }

  @Access('signed in')
  @Operation({
    summary: 'Ranges of settings, windows and designs that lots of a family have shown',
    answer: RangesAnswer,
  })
  @Get('api/v1/design/ranges')
  report(@Query({ schema: FamilyQuery }) { family }: FamilyQuery): Promise<RangesAnswer> {
    return this.ranges.ofFamily(family);
  }

  @Access('signed in')
  @Operation({ summary: 'Where a case lies beside what its family has shown', answer: CaseRangesAnswer })
  @Get('api/v1/design/case-ranges')
  ofCase(@Query({ schema: CaseQuery }) query: CaseQuery): Promise<CaseRangesAnswer> {
    return this.ranges.ofCase(query.case);
  }
}
