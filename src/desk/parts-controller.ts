import { Controller, Get, Header, StreamableFile } from '@nestjs/common';
import type { CapabilityResult } from '../assessment/assessment.js';
import type { LogFinding } from '../dossier/schema.js';
import type { Characteristic } from '../kinds/specification.js';
import { histogramFigure, historyFigure } from '../report/capability-figures.js';
import { toSvg } from '../report/charts/scene-svg.js';
import { figureView } from '../report/figure-view.js';
import { findingFigure } from '../report/finding-figure.js';
import { PAGE_TITLES } from '../report/phrases/page-titles.js';
import { PARTS } from '../report/phrases/parts.js';
import { Access, NoCases } from '../web/access.js';
import { HTML } from '../web/html.js';
import { Pages } from '../web/pages.js';

/** Every part of pages with invented content, for whoever writes one. */
@Controller('parts')
export class PartsController {
  constructor(private readonly pages: Pages) {}

  @Access('signed in')
  @NoCases()
  @Get()
  @Header(...HTML)
  show(): string {
    const picture = { src: '/parts/around.svg', alt: PARTS.around };
    return this.pages.render('parts', PAGE_TITLES.parts, { ...PARTS, capability: capability(), picture });
  }

  @Access('signed in')
  @NoCases()
  @Get('around.svg')
  @Header('Content-Security-Policy', "default-src 'none'; sandbox")
  around(): StreamableFile {
    const { scene, alt } = inventedFinding();
    return new StreamableFile(Buffer.from(toSvg(scene, { title: PARTS.around, description: alt, id: 'around' })), {
      type: 'image/svg+xml',
    });
  }
}

const DAY_MS = 86_400_000;
const BEGUN = Date.parse('2031-01-06T08:00:00Z');

/** Seven lots of three values over half a year, the last one with a value that misses its limit. */
function capability() {
  const item = { characteristic: 'thickness', title: PARTS.characteristic, ucum: 'mm', lower: '1.45', upper: '1.55' };
  const points = Array.from({ length: 21 }, (_, index) => {
    const lot = Math.floor(index / 3);
    const value = index === 20 ? 1.41 : Number((1.5 + 0.012 * Math.sin(index * 2.4)).toFixed(3));
    const builtAt = new Date(BEGUN + lot * (19 + (lot % 3) * 5) * DAY_MS).toISOString();
    return {
      lot: `X-${lot + 1}`,
      build: `B-${lot + 1}`,
      builtAt,
      specimen: `S-${index + 1}`,
      value,
      ofThisLot: lot === 6,
    };
  });
  const limits = { centre: 1.5, lower: 1.463, upper: 1.537, signals: [{ index: 21, rule: 'beyondLimit' }] };
  const result = { points, chart: limits, mean: 1.5, sd: 0.01, n: 18, ppk: 1.6 } as unknown as CapabilityResult;
  const [overTime, spread] = [historyFigure, histogramFigure].map((draw) => draw(item as Characteristic, result)!);
  return {
    says: PARTS.able,
    rows: [[PARTS.characteristic, '1.45 to 1.55 mm']],
    overTime: figureView(overTime!, PARTS.characteristic, 'parts-over-time'),
    spread: figureView(spread!, PARTS.characteristic, 'parts-spread'),
  };
}

function inventedFinding() {
  const closedAt = new Date(BEGUN).toISOString();
  const at = (minute: number) => new Date(BEGUN + minute * 60_000).toISOString();
  const values = Array.from({ length: 60 }, (_, minute) =>
    minute > 29 && minute < 36 ? 64 : 12 + 2 * Math.sin(minute),
  );
  const outline = { channel: 'oxygen', ucum: '[ppm]', startMs: BEGUN, bucketMs: 60_000, min: values, max: values };
  const finding: LogFinding = {
    ...{ id: '0'.repeat(64), build: 'B-1', rule: 'excursion', level: 'action', channel: 'oxygen', ucum: '[ppm]' },
    ...{ startedAt: at(30), endedAt: at(36), places: [], steps: [] },
    facts: { direction: 'high', worst: 64, limit: 50, durationMs: 360_000 },
  };
  return findingFigure(finding, { build: 'B-1', findings: [finding], outlines: [outline], gaps: [] }, closedAt);
}
