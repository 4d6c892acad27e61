import { type Facts, PART_NAMES } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { unitText } from '../../dossier/unit-text.js';
import type { Build } from '../../kinds/lot.js';
import type { RecordPage } from '../../pdf/page.js';
import { evidenceAnchor, findingAnchor, short } from '../../report/anchors.js';
import { findingLines, mostSevere } from '../../report/finding-lines.js';
import { buildFigure, channelFigure, plottedChannels } from '../../report/log-figures.js';
import { zoneMapFigure } from '../../report/zone-map-figure.js';
import { PART_NOTE, type RecordView, shownUnits } from '../record-view.js';

/** What happened in the chamber, from the logs: files, findings and whom they touch, plots, and a summary. */
export function drawBuildLog(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  pdf.table({
    caption: 'Builds: one closure of the chamber each',
    columns: ['Build', 'Machine', 'Closed', 'Opened', 'Operator', 'Powder', 'Gas'].map((head) => ({ head })),
    rows: facts.lot.body.builds.map((build) => [
      buildText(build),
      facts.machines.get(build.machine)?.body.title ?? build.machine,
      timeText(build.closedAt),
      timeText(build.openedAt),
      build.operator,
      build.powder.map((powder) => `${powder.state} ${powder.massG} g`).join('; '),
      build.gas.map((gas) => gas.receipt).join(', ') || 'none named',
    ]),
  });
  pdf.table({
    caption: 'Log files as received',
    columns: [
      { head: 'File' },
      { head: 'Build' },
      { head: 'Rows', align: 'right' },
      { head: 'Rejected', align: 'right' },
      { head: 'First row' },
      { head: 'Last row' },
      { head: 'SHA-256' },
    ],
    rows: facts.dossier.logs.map((log) => [
      log.fileName,
      log.build,
      String(log.rows),
      String(log.rejectedRows),
      timeText(log.firstAt ?? 'none'),
      timeText(log.lastAt ?? 'none'),
      [{ text: short(log.sha256), style: 'mono' as const, to: evidenceAnchor(log.sha256) }],
    ]),
    empty: 'No log was taken in.',
  });
  const map = zoneMapFigure(facts, shownUnits(view));
  if (map) pdf.figure(map);
  pdf.heading(2, 'Log findings', { anchor: 'log findings' });
  const { lines, others } = mostSevere(findingLines(facts));
  pdf.table({
    caption: 'Log findings: what, where, and which implants and coupons it covers',
    columns: [
      { head: 'Finding', width: 2 },
      { head: 'Level', width: 1.1 },
      { head: 'What', width: 4.2 },
      { head: 'Where', width: 3.4 },
      { head: 'Covers', width: 2.6 },
      { head: 'Decision', width: 2.2 },
    ],
    rows: lines.map((line) => ({
      cells: [
        [{ text: short(line.id), style: 'mono' as const }],
        line.level,
        `${line.says}; ${line.from} to ${line.to}`,
        line.where,
        [...line.implants, ...line.coupons].join(', ') || 'no part',
        line.decided,
      ],
      anchor: findingAnchor(line.id),
      attention: line.level !== 'alert',
    })),
    empty: 'None: every channel stayed in its window and nothing is missing.',
  });
  const alike = lines.some(({ members }) => members > 1);
  if (alike || others > 0) pdf.paragraph(findingNote(facts, others), { small: true });
  pdf.heading(2, 'Course of each build', { keepPt: 200 });
  for (const build of facts.lot.body.builds) {
    const whole = buildFigure(facts, build);
    if (whole) pdf.figure(whole);
    for (const channel of plottedChannels(facts, build)) {
      const figure = channelFigure(facts, build, channel);
      if (figure) pdf.figure(figure);
    }
  }
  drawSummary(pdf, facts);
}

/** Where each finding stands that the table counts and does not tell. */
function findingNote(facts: Facts, others: number): string {
  const parts = facts.lot.body.builds.map(({ build }) => PART_NAMES.log(build)).join(', ');
  const more = others === 0 ? '' : ` ${others} more, none of them more severe, are not in this table.`;
  return `Findings alike have rule, channel, level, cause and parts in common; people decide on all of them as one, and its identity is the SHA-256 over theirs.${more} Each finding by itself: attached ${parts}.`;
}

/** A planned build has the times of its plan; a continued one says from which layer on. */
function buildText({ build, state, continues }: Build): string {
  const planned = state === 'planned' ? ', planned, not built' : '';
  return `${build}${planned}${continues ? `, continues ${continues.build} from layer ${continues.fromLayer}` : ''}`;
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
      cells: [row.build, row.step || 'no step', row.channel, unitText(row.ucum)],
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
    caption: `Logged channels by step, over all zones and layers. ${PART_NOTE}`,
    columns: [
      { head: 'Build' },
      { head: 'Step' },
      { head: 'Channel' },
      { head: 'Unit' },
      { head: 'Zones', align: 'right' },
      { head: 'Rows', align: 'right' },
      { head: 'Smallest', align: 'decimal' },
      { head: 'Largest', align: 'decimal' },
      { head: 'Time outside its window' },
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
  const parts = [...outside].map(([zone, ms]) => `${zone || 'no zone'} ${Number((ms / 1000).toPrecision(9))} s`);
  return parts.join(', ') || 'none';
}
