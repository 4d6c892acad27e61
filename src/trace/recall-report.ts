import type { RecordPage } from '../pdf/page.js';
import { ANSWER_PAPER, RECALL_PAPER, TRACE_PAPER } from '../report/phrases/answer-paper.js';
import type { RecallStanding } from './carried-answer.js';

/** The report of a recall or a drill on paper: what it was about, unit by unit, who was told, who signed. */
export function drawRecall(page: RecordPage, report: RecallStanding): void {
  const { drill, units, notices, clocks, signed } = report;
  page.facts([
    [RECALL_PAPER.trigger, report.trigger],
    [RECALL_PAPER.reason, report.reason],
    [RECALL_PAPER.query, report.query],
    [RECALL_PAPER.askedAsOf, `${ANSWER_PAPER.asOfEntry(report.askedAsOf.size)}, ${report.askedAsOf.root}`],
    [RECALL_PAPER.reconciled, report.reconciled],
    [RECALL_PAPER.time, report.time],
    ...(report.lessons === '' ? [] : [[RECALL_PAPER.lessons, report.lessons] as const]),
  ]);
  page.heading(1, RECALL_PAPER.units, { listed: false });
  page.table({
    caption: RECALL_PAPER.expected(drill),
    columns: [
      { head: TRACE_PAPER.heads.implant, width: 0.18 },
      { head: TRACE_PAPER.heads.lot, width: 0.16 },
      { head: RECALL_PAPER.heads.onRecord, width: 0.2 },
      { head: TRACE_PAPER.heads.holder, width: 0.18 },
      { head: RECALL_PAPER.heads.found, width: 0.14 },
      { head: TRACE_PAPER.heads.at, width: 0.14 },
    ],
    rows: units.map(({ serial, lot, where, holder, found, at, differs }) => [
      ...[serial, lot, where || RECALL_PAPER.notOnRecord, holder],
      found === '' ? RECALL_PAPER.notYet : differs ? RECALL_PAPER.otherwise(found) : found,
      at,
    ]),
  });
  page.heading(1, RECALL_PAPER.notices, { listed: false });
  if (notices.length === 0) page.paragraph(RECALL_PAPER.nobodyTold);
  else page.list(notices.map(({ to, at }) => RECALL_PAPER.told(to, at)));
  if (clocks.length > 0) {
    page.heading(1, RECALL_PAPER.clocks, { listed: false });
    page.list(clocks.map(({ law, due, reported }) => RECALL_PAPER.clock(law, due, reported)));
  }
  page.heading(1, RECALL_PAPER.signed, { listed: false });
  if (signed.length === 0) page.paragraph(RECALL_PAPER.nobodySigned);
  else page.list(signed);
}
