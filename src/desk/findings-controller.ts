import { Controller, Get, Header, Param, Query, StreamableFile } from '@nestjs/common';
import { z } from 'zod';
import { isGroup } from '../assessment/alike-findings.js';
import { coverageOf } from '../assessment/coverage.js';
import { logFindingsOf } from '../assessment/log-findings.js';
import { NotFoundError } from '../base/errors.js';
import { noFormula, writeCsv } from '../dossier/csv.js';
import type { Facts } from '../dossier/facts.js';
import type { LogFinding } from '../dossier/schema.js';
import { timeText } from '../dossier/time-text.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { toSvg } from '../report/charts/scene-svg.js';
import { findingFigure } from '../report/finding-figure.js';
import { findingPictureAddress, nonconformityAddress } from '../report/page-addresses.js';
import { findingText, whereText } from '../report/phrases/log-finding.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { Access } from '../web/access.js';
import { attachment } from '../web/disposition.js';
import { HTML } from '../web/html.js';
import { NAMED } from '../web/input.js';
import { Pages } from '../web/pages.js';

/** Findings on one page: more are turned over. */
const ON_A_PAGE = 200;

const PageQuery = z.strictObject({
  from: z
    .string()
    .regex(/^[1-9]\d{0,6}$/, { error: 'number of a finding, from 1' })
    .transform(Number)
    .default(1),
});
type PageQuery = z.infer<typeof PageQuery>;

const COLUMNS = ['together', 'finding', 'build', 'level', 'what', 'where', 'from', 'to', 'implants', 'coupons'];

/** Log findings one by one, where the page of the lot tells many alike as one. */
@Controller('lots/:lot')
export class FindingsController {
  constructor(
    private readonly pages: Pages,
    private readonly current: CurrentAssessments,
    private readonly assessor: LotAssessor,
  ) {}

  @Access('signed in')
  @Get('findings/:id')
  @Header(...HTML)
  async group(
    @Param('lot', NAMED) lot: string,
    @Param('id', NAMED) id: string,
    @Query({ schema: PageQuery }) { from }: PageQuery,
  ): Promise<string> {
    const facts = await this.facts(lot);
    const group = logFindingsOf(facts).find((finding) => finding.id === id);
    if (!group) throw new NotFoundError(`log finding of lot ${lot}`, id);
    const shown = group.members.slice(from - 1, from - 1 + ON_A_PAGE);
    const next = from + shown.length;
    return this.pages.render('findings', PAGE_TITLES.findings(id.slice(0, 12), lot), {
      lot,
      id,
      from,
      to: next - 1,
      open: group.level === 'alert' ? null : nonconformityAddress(lot, [id]),
      picture: { src: findingPictureAddress(lot, group.id), alt: whereText(group) },
      count: group.members.length,
      says: findingText(group),
      where: whereText(group),
      lines: shown.map((finding, index) => ({ number: from + index, ...lineOf(facts, finding) })),
      before: from > 1 ? Math.max(1, from - ON_A_PAGE) : null,
      next: next <= group.members.length ? next : null,
    });
  }

  /** @param id identity of a finding, of a group, or the first digits of one. */
  @Access('signed in')
  @Get('findings/:id/picture.svg')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async picture(@Param('lot', NAMED) lot: string, @Param('id', NAMED) id: string): Promise<StreamableFile> {
    const facts = await this.facts(lot);
    const judged = logFindingsOf(facts);
    const found = [...judged, ...judged.flatMap(({ members }) => members)].find((finding) => finding.id.startsWith(id));
    const part = found && facts.logParts.get(found.build);
    const build = facts.lot.body.builds.find((one) => one.build === found?.build);
    if (!found || !part || !build) throw new NotFoundError(`log finding of lot ${lot}`, id);
    const { scene, alt } = findingFigure(found, part, build.closedAt);
    const svg = toSvg(scene, { title: findingText(found), description: alt, id: found.id });
    return new StreamableFile(Buffer.from(svg), { type: 'image/svg+xml' });
  }

  @Access('signed in')
  @Get('findings.csv')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  async csv(@Param('lot', NAMED) lot: string): Promise<StreamableFile> {
    const facts = await this.facts(lot);
    const rows = logFindingsOf(facts).flatMap((judged) =>
      judged.members.map((finding) => {
        const { id, build, level, says, where, from, to, implants, coupons } = lineOf(facts, finding);
        const together = isGroup(judged) ? judged.id : '';
        return [together, id, build, level, says, where, from, to, implants.join(' '), coupons.join(' ')];
      }),
    );
    const bytes = Buffer.from(
      writeCsv(
        COLUMNS,
        rows.map((row) => row.map(noFormula)),
      ),
    );
    return new StreamableFile(bytes, {
      type: 'text/csv; charset=utf-8',
      disposition: attachment(`log-findings-${lot}.csv`),
      length: bytes.length,
    });
  }

  private async facts(lot: string): Promise<Facts> {
    return (await this.current.of(lot))?.facts ?? this.assessor.facts(lot);
  }
}

function lineOf(facts: Facts, finding: LogFinding) {
  return {
    ...{ id: finding.id, build: finding.build, level: finding.level },
    says: findingText(finding),
    where: whereText(finding),
    from: timeText(finding.startedAt ?? ''),
    to: timeText(finding.endedAt ?? ''),
    ...coverageOf(facts, finding),
  };
}
