import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { resultAnchor } from '../../report/anchors.js';
import { lateFactText } from '../../report/phrases/late-facts.js';
import { RESULTS } from '../../report/phrases/record-results.js';
import { correctionsOf, lateResultsOf, type NumberedRow } from '../../report/result-rows.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { sayNone, tableOr } from './none-of.js';

const rowLink = (row: number): Text => [{ text: String(row), to: resultAnchor(row) }];

/** What was corrected, and what was entered late. */
export function drawCorrections(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const isTold = ({ row }: NumberedRow) => tellsOf(view)(row.specimen);
  const none: string[] = [];
  pdf.heading(2, RESULTS.corrections, { anchor: 'corrections' });
  tableOr(pdf, none, {
    caption: RESULTS.correctedResults,
    columns: [
      RESULTS.row,
      RESULTS.specimen,
      RESULTS.characteristic,
      RESULTS.oldValue,
      RESULTS.newValue,
      RESULTS.reason,
      RESULTS.recorded,
    ].map((head) => ({
      head,
    })),
    rows: correctionsOf(facts)
      .filter(isTold)
      .map(({ row, next, number }) => [
        rowLink(number),
        specimenText(row),
        row.characteristic,
        `${row.reportedValue}${spacedUnit(row.reportedUcum)}`,
        `${next.reportedValue}${spacedUnit(next.reportedUcum)}`,
        next.reason,
        timeText(next.recordedAt),
      ]),
  });
  tableOr(pdf, none, {
    caption: RESULTS.lateResults,
    columns: [RESULTS.row, RESULTS.specimen, RESULTS.characteristic, RESULTS.measured, RESULTS.recorded].map(
      (head) => ({ head }),
    ),
    rows: lateResultsOf(facts)
      .filter(isTold)
      .map(({ row, number }) => [
        rowLink(number),
        specimenText(row),
        row.characteristic,
        timeText(row.measuredAt),
        timeText(row.recordedAt),
      ]),
  });
  tableOr(pdf, none, {
    caption: RESULTS.lateFacts,
    columns: [RESULTS.lateFact, RESULTS.happened, RESULTS.recorded, RESULTS.enteredBy].map((head) => ({ head })),
    rows: facts.lateFacts.map((fact) => [
      lateFactText(fact),
      timeText(fact.happenedAt),
      timeText(fact.recordedAt),
      fact.by,
    ]),
  });
  sayNone(pdf, none);
}
