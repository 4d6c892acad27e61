import type { Facts } from '../../dossier/facts.js';
import { channelFigure, plottedChannels } from '../figures.js';
import type { RecordPage } from '../pdf/page.js';
import { findingAnchor, findingLines, PART_NOTE, type RecordView, short, timeText } from '../record-view.js';

/** What happened in the chamber, from the logs: files, findings and whom they touch, plots, and a summary. */
export function drawBuildLog(pdf: RecordPage, { facts }: RecordView): void {
  pdf.heading(1, 'Builds and process logs', { newPage: true });
  pdf.table({
    caption: 'Builds: one closure of the chamber each',
    columns: ['Build', 'Machine', 'Closed', 'Opened', 'Operator', 'Powder', 'Gas'].map((head) => ({ head })),
    rows: facts.lot.body.builds.map((build) => [
      build.build,
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
      [{ text: short(log.sha256), style: 'mono' as const }],
    ]),
  });
  pdf.anchor('log findings');
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
    rows: findingLines(facts).map((line) => ({
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
  for (const build of facts.lot.body.builds) {
    for (const channel of plottedChannels(facts, build)) {
      const figure = channelFigure(facts, build, channel);
      if (figure) pdf.figure(figure);
    }
  }
  drawSummary(pdf, facts);
}

/** Over all layers of a zone: the layers themselves are in the attached part. */
function drawSummary(pdf: RecordPage, facts: Facts): void {
  const groups = new Map<string, { cells: string[]; n: number; min: number; max: number; outside: number }>();
  for (const row of facts.summaries) {
    if (row.n === '0') continue;
    const key = [row.build, row.zone, row.step, row.channel].join('\n');
    const group = groups.get(key) ?? {
      cells: [row.zone || 'no zone', row.step || 'no step', row.channel, row.ucum],
      n: 0,
      min: Number.POSITIVE_INFINITY,
      max: Number.NEGATIVE_INFINITY,
      outside: 0,
    };
    group.n += Number(row.n);
    group.min = Math.min(group.min, Number(row.min));
    group.max = Math.max(group.max, Number(row.max));
    group.outside += Number(row.outsideMs);
    groups.set(key, group);
  }
  pdf.table({
    caption: `Logged channels by zone and step, over all layers. ${PART_NOTE}`,
    columns: [
      { head: 'Zone' },
      { head: 'Step' },
      { head: 'Channel' },
      { head: 'Unit' },
      { head: 'Rows', align: 'right' },
      { head: 'Smallest', align: 'decimal' },
      { head: 'Largest', align: 'decimal' },
      { head: 'Outside window', unit: 's', align: 'decimal' },
    ],
    rows: [...groups.values()].map((group) => [
      ...group.cells,
      String(group.n),
      String(group.min),
      String(group.max),
      String(Number((group.outside / 1000).toPrecision(9))),
    ]),
  });
}
