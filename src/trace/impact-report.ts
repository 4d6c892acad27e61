import { specimenText } from '../dossier/tables.js';
import { timeText } from '../dossier/time-text.js';
import type { RecordPage } from '../pdf/page.js';
import { IMPACT_PAPER, TRACE_PAPER } from '../report/phrases/answer-paper.js';
import { verdictText } from '../report/phrases/codes.js';
import { IMPACT_LINES } from '../report/phrases/impact.js';
import { type ImpactAnswer, type ImpactResult, type ImpactUnit, lotsAmong } from './impact-answer.js';

const { heads } = IMPACT_PAPER;

/** What it means that something was found off, on paper: what was asked, units that flip first, then each result. */
export function drawImpact(page: RecordPage, report: ImpactAnswer): void {
  const { units, results, altered } = report;
  const flips = units.filter((unit) => unit.flips);
  page.facts([
    [IMPACT_PAPER.time, IMPACT_LINES.interval(report.from, report.to, report.proposed)],
    [IMPACT_PAPER.touched, IMPACT_LINES.counted(results.length, lotsAmong(results), units.length)],
    [IMPACT_PAPER.again, IMPACT_LINES.again(altered, flips.length)],
    ...(report.balance === null ? [] : [[IMPACT_PAPER.balance, report.balance] as const]),
    [IMPACT_PAPER.resultsSha256, report.resultsSha256],
  ]);
  if (report.notRead.length > 0) {
    page.heading(1, IMPACT_LINES.notRead, { listed: false });
    page.list(report.notRead.map(({ lot, why }) => `${lot}: ${why}`));
  }
  page.heading(1, IMPACT_PAPER.units, { listed: false });
  page.table({
    caption: IMPACT_PAPER.units,
    columns: [
      { head: TRACE_PAPER.heads.implant, width: 0.2 },
      { head: TRACE_PAPER.heads.lot, width: 0.16 },
      { head: heads.first, width: 0.16 },
      { head: heads.again, width: 0.16 },
      { head: TRACE_PAPER.heads.where, width: 0.16 },
      { head: TRACE_PAPER.heads.holder, width: 0.16 },
    ],
    rows: [...flips, ...units.filter((unit) => !unit.flips)].map(unitRow),
    empty: TRACE_PAPER.none,
  });
  page.heading(1, IMPACT_LINES.results, { listed: false });
  page.table({
    caption: IMPACT_LINES.results,
    columns: [
      { head: TRACE_PAPER.heads.lot, width: 0.11 },
      { head: heads.specimen, width: 0.14 },
      { head: heads.characteristic, width: 0.13 },
      { head: heads.measured, width: 0.16 },
      { head: heads.value, width: 0.09 },
      { head: heads.altered, width: 0.09 },
      { head: heads.first, width: 0.1 },
      { head: heads.again, width: 0.1 },
      { head: heads.margin, width: 0.08 },
    ],
    rows: results.map(resultRow),
    empty: TRACE_PAPER.none,
  });
  for (const [title, lines] of [
    [IMPACT_LINES.builds, report.builds.map(({ key }) => key)],
    [IMPACT_LINES.powder, report.powder.map(({ key }) => key)],
    [IMPACT_LINES.claims, report.claims.map(({ title: what, key, name }) => `${what} ${key}: ${name}`)],
    [IMPACT_LINES.capability, report.capability],
  ] as const) {
    if (lines.length === 0) continue;
    page.heading(1, title, { listed: false });
    page.list(lines);
  }
  page.heading(1, TRACE_PAPER.cannotKnow, { listed: false });
  page.list(report.cannotKnow);
}

const unitRow = ({ serial, lot, first, again, flips, place, holder }: ImpactUnit): string[] => [
  ...[serial, lot, verdictText(first), flips ? `${verdictText(again)}, ${IMPACT_PAPER.changes}` : verdictText(again)],
  ...[place, holder],
];

const resultRow = (row: ImpactResult): string[] => [
  ...[row.lot, specimenText(row), `${row.characteristic} ${row.replicate}`, timeText(row.measuredAt)],
  ...[`${row.value} ${row.ucum}`, row.valueAgain ?? IMPACT_LINES.leftOut],
  ...[row.first === null ? '' : verdictText(row.first), row.again === null ? '' : verdictText(row.again)],
  row.margin === null ? '' : String(row.margin),
];
