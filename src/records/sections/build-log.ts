import { type Facts, PART_NAMES } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Build } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { evidenceAnchor, findingAnchor, short } from '../../report/anchors.js';
import { findingLines, mostSevere } from '../../report/finding-lines.js';
import { buildFigure, channelFigure, plottedChannels } from '../../report/log-figures.js';
import { levelText } from '../../report/phrases/codes.js';
import { BUILD_LOG } from '../../report/phrases/record-build-log.js';
import { stepText } from '../../report/phrases/trade-codes.js';
import { zoneMapFigure } from '../../report/zone-map-figure.js';
import { type RecordView, shownUnits, tellsOf } from '../record-view.js';

/** Two channels stand beside each other. */
const CHANNEL = { width: 237, plotHeight: 95 };

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
      BUILD_LOG.gas,
    ].map((head) => ({ head })),
    rows: facts.lot.body.builds.map((build) => [
      buildText(build),
      facts.machines.get(build.machine)?.body.title ?? build.machine,
      timeText(build.closedAt),
      timeText(build.openedAt),
      build.operator,
      build.powder.map((powder) => `${powder.state} ${powder.chargedG} g`).join('; '),
      build.gas.map((gas) => gas.receipt).join(', ') || BUILD_LOG.noneNamed,
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
  readonly cells: readonly string[];
  readonly zones: Set<string>;
  n: number;
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
    const key = [row.build, row.step, row.channel].join('\n');
    const group = groups.get(key) ?? {
      cells: [row.build, row.step === '' ? BUILD_LOG.noStep : stepText(row.step), row.channel, tradeUnit(row.ucum)],
      zones: new Set(),
      n: 0,
      min: Number.POSITIVE_INFINITY,
      max: Number.NEGATIVE_INFINITY,
      outside: new Map(),
    };
    group.zones.add(row.zone);
    group.n += Number(row.n);
    group.min = Math.min(group.min, Number(row.min));
    group.max = Math.max(group.max, Number(row.max));
    const outside = Number(row.outsideMs);
    if (outside > 0) group.outside.set(row.zone, (group.outside.get(row.zone) ?? 0) + outside);
    groups.set(key, group);
  }
  pdf.table({
    caption: BUILD_LOG.summary,
    columns: [
      { head: BUILD_LOG.build },
      { head: BUILD_LOG.step },
      { head: BUILD_LOG.channel },
      { head: BUILD_LOG.unit },
      { head: BUILD_LOG.zones, align: 'right' },
      { head: BUILD_LOG.rows, align: 'right' },
      { head: BUILD_LOG.smallest, align: 'decimal' },
      { head: BUILD_LOG.largest, align: 'decimal' },
      { head: BUILD_LOG.outside },
    ],
    rows: [...groups.values()].map((group) => ({
      cells: [
        ...group.cells,
        String(group.zones.size),
        String(group.n),
        String(group.min),
        String(group.max),
        outsideText(group.outside),
      ],
      attention: group.outside.size > 0,
    })),
  });
}

function outsideText(outside: ReadonlyMap<string, number>): string {
  const parts = [...outside].map(([zone, ms]) => `${zone || BUILD_LOG.noZone} ${Number((ms / 1000).toPrecision(9))} s`);
  return parts.join(', ') || BUILD_LOG.none;
}
