import { type Facts, PART_NAMES } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Build } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { evidenceAnchor, findingAnchor, short } from '../../report/anchors.js';
import { findingLines, mostSevere } from '../../report/finding-lines.js';
import { gasRows } from '../../report/gas-rows.js';
import { buildFigure, channelFigure, plottedChannels } from '../../report/log-figures.js';
import { levelText } from '../../report/phrases/codes.js';
import { GAS_ROWS } from '../../report/phrases/gas-rows.js';
import { BUILD_LOG } from '../../report/phrases/record-build-log.js';
import { stepText } from '../../report/phrases/trade-codes.js';
import { zoneMapFigure } from '../../report/zone-map-figure.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';

/** Two channels stand beside each other. */
const CHANNEL = { width: 237, plotHeight: 68 };

/** What happened in the chamber, from the logs: files, findings and whom they touch, plots, and a summary. */
export function drawBuildLog(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  pdf.table({
    caption: BUILD_LOG.builds,
    columns: [
      BUILD_LOG.build,
      BUILD_LOG.machine,
      BUILD_LOG.closed,
      BUILD_LOG.opened,
      BUILD_LOG.operator,
      BUILD_LOG.powder,
    ].map((head) => ({ head })),
    rows: facts.lot.body.builds.map((build) => [
      buildText(build),
      facts.machines.get(build.machine)?.body.title ?? build.machine,
      timeText(build.closedAt),
      timeText(build.openedAt),
      build.operator,
      build.powder.map((powder) => `${powder.state} ${powder.chargedG} g`).join('; '),
    ]),
  });
  pdf.table({
    caption: BUILD_LOG.logFiles,
    columns: [
      { head: BUILD_LOG.file },
      { head: BUILD_LOG.build },
      { head: BUILD_LOG.rows, align: 'right' },
      { head: BUILD_LOG.rejected, align: 'right' },
      { head: BUILD_LOG.firstRow },
      { head: BUILD_LOG.lastRow },
      { head: BUILD_LOG.sha },
    ],
    rows: facts.dossier.logs.map((log) => [
      log.fileName,
      log.build,
      String(log.rows),
      String(log.rejectedRows),
      timeText(log.firstAt ?? BUILD_LOG.none),
      timeText(log.lastAt ?? BUILD_LOG.none),
      [{ text: short(log.sha256), style: 'mono' as const, to: evidenceAnchor(log.sha256) }],
    ]),
    empty: BUILD_LOG.noLog,
  });
  pdf.table({
    caption: GAS_ROWS.caption,
    columns: [
      { head: GAS_ROWS.heads.build, width: 1.4 },
      { head: GAS_ROWS.heads.gas, width: 2 },
      { head: GAS_ROWS.heads.open, width: 2.4 },
      { head: GAS_ROWS.heads.used, width: 1.3 },
      { head: GAS_ROWS.heads.analysis, width: 3.8 },
      { head: GAS_ROWS.heads.chamber, width: 3.2 },
    ],
    rows: gasRows(facts).map((row) => [row.build, row.gas, row.open, row.used, row.analysis, row.chamber]),
    empty: GAS_ROWS.noGas,
  });
  const isTold = tellsOf(view);
  const map = zoneMapFigure(facts, shownUnits(view));
  if (map) pdf.figure(map);
  pdf.heading(2, BUILD_LOG.heading, { anchor: 'log findings' });
  const { lines, others } = mostSevere(findingLines(facts));
  pdf.table({
    caption: BUILD_LOG.findings,
    columns: [
      { head: BUILD_LOG.finding, width: 2 },
      { head: BUILD_LOG.level, width: 1.1 },
      { head: BUILD_LOG.what, width: 4.2 },
      { head: BUILD_LOG.where, width: 3.4 },
      { head: BUILD_LOG.covers, width: 2.6 },
      { head: BUILD_LOG.decision, width: 2.2 },
    ],
    rows: lines.map((line) => ({
      cells: [
        [{ text: short(line.id), style: 'mono' as const }],
        levelText(line.level),
        BUILD_LOG.whatAndWhen(line.says, line.from, line.to),
        line.where,
        [...line.implants, ...line.coupons].filter(isTold).join(', ') || BUILD_LOG.noPart,
        line.decided,
      ],
      anchor: findingAnchor(line.id),
      attention: line.level !== 'alert',
    })),
    empty: BUILD_LOG.noFinding,
  });
  const alike = lines.some(({ members }) => members > 1);
  if (alike || others > 0) pdf.paragraph(findingNote(facts, others), { small: true });
  pdf.heading(2, BUILD_LOG.course, { keepPt: 200 });
  for (const build of facts.lot.body.builds) {
    const whole = buildFigure(facts, build);
    if (whole) pdf.figure(whole);
    const figures = plottedChannels(facts, build)
      .map((channel) => channelFigure(facts, build, channel, CHANNEL))
      .filter((figure) => figure !== undefined);
    for (let at = 0; at < figures.length; at += 2) pdf.figures(figures.slice(at, at + 2));
  }
  drawSummary(pdf, facts);
}

/** Where each finding stands that the table counts and does not tell. */
function findingNote(facts: Facts, others: number): string {
  const parts = facts.lot.body.builds.map(({ build }) => PART_NAMES.log(build)).join(', ');
  const more = others === 0 ? '' : BUILD_LOG.more(others);
  return BUILD_LOG.alike(more, parts);
}

/** A planned build has the times of its plan; a continued one says from which layer on. */
function buildText({ build, state, continues }: Build): string {
  const planned = state === 'planned' ? BUILD_LOG.planned : '';
  return `${build}${planned}${continues ? BUILD_LOG.continues(continues.build, continues.fromLayer) : ''}`;
}

interface ChannelSummary {
  readonly cells: readonly [build: string, channel: string, unit: string];
  readonly steps: Map<string, Extent>;
}

interface Extent {
  min: number;
  max: number;
  /** Milliseconds outside the window, by zone. */
  readonly outside: Map<string, number>;
}

/** Over all layers and zones of a step: each by itself is in the attached part. */
function drawSummary(pdf: RecordPage, facts: Facts): void {
  const groups = new Map<string, ChannelSummary>();
  for (const row of facts.summaries) {
    if (row.n === '0') continue;
    const key = [row.build, row.channel].join('\n');
    const group = groups.get(key) ?? { cells: [row.build, row.channel, tradeUnit(row.ucum)], steps: new Map() };
    groups.set(key, group);
    const extent = group.steps.get(row.step) ?? { min: Infinity, max: -Infinity, outside: new Map() };
    group.steps.set(row.step, extent);
    extent.min = Math.min(extent.min, Number(row.min));
    extent.max = Math.max(extent.max, Number(row.max));
    const outside = Number(row.outsideMs);
    if (outside > 0) extent.outside.set(row.zone, (extent.outside.get(row.zone) ?? 0) + outside);
  }
  const steps = [...new Set([...groups.values()].flatMap((group) => [...group.steps.keys()]))];
  pdf.table({
    caption: BUILD_LOG.summary,
    columns: [
      { head: BUILD_LOG.build, width: 1.6 },
      { head: BUILD_LOG.channel, width: 2.2 },
      { head: BUILD_LOG.unit, width: 1.2 },
      ...steps.map((step) => ({ head: step === '' ? BUILD_LOG.noStep : stepText(step), width: 2.6 })),
    ],
    rows: [...groups.values()].map((group) => ({
      cells: [...group.cells, ...steps.map((step) => extentText(group.steps.get(step)))],
      attention: [...group.steps.values()].some(({ outside }) => outside.size > 0),
    })),
  });
}

function extentText(extent: Extent | undefined): string {
  if (extent === undefined) return BUILD_LOG.none;
  const { min, max, outside } = extent;
  const range = min === max ? String(min) : BUILD_LOG.fromTo(min, max);
  const parts = [...outside].map(([zone, ms]) =>
    BUILD_LOG.outside(zone || BUILD_LOG.noZone, Number((ms / 1000).toPrecision(9))),
  );
  return [range, ...parts].join('; ');
}
