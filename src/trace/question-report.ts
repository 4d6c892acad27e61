import type { RecordPage } from '../pdf/page.js';
import { AUDITOR_PAPER, type AuditorQuestionName } from '../report/phrases/auditor-questions.js';
import { type AuditorAnswer, cellText, shortDigest } from './auditor-answer.js';

/** How wide each column is, as parts of the page. */
const WIDTHS: Readonly<Record<AuditorQuestionName, readonly number[]>> = {
  lots: [0.16, 0.16, 0.2, 0.16, 0.08, 0.08, 0.08, 0.08],
  counted: [0.14, 0.16, 0.08, 0.06, 0.42, 0.14],
  values: [0.11, 0.11, 0.12, 0.1, 0.14, 0.1, 0.08, 0.18, 0.06],
  failed: [0.12, 0.12, 0.12, 0.1, 0.14, 0.16, 0.1, 0.14],
  coupons: [0.12, 0.12, 0.22, 0.12, 0.16, 0.26],
  destroyed: [0.14, 0.13, 0.12, 0.15, 0.12, 0.16, 0.08, 0.1],
  known: [0.14, 0.12, 0.1, 0.22, 0.07, 0.13, 0.12, 0.1],
  releases: [0.12, 0.12, 0.09, 0.18, 0.08, 0.11, 0.16, 0.14],
  excursions: [0.13, 0.24, 0.1, 0.11, 0.12, 0.07, 0.09, 0.14],
  recipes: [0.14, 0.16, 0.18, 0.16, 0.1, 0.26],
  shared: [0.16, 0.2, 0.08, 0.56],
  unqualified: [0.1, 0.09, 0.4, 0.12, 0.13, 0.16],
  changed: [0.13, 0.15, 0.2, 0.15, 0.15, 0.22],
  recalls: [0.18, 0.1, 0.2, 0.17, 0.17, 0.18],
};

const FEW_ROWS = 50;

/** An answer to what an auditor asks, on paper: each row, as the page has it. */
export function drawQuestion(
  page: RecordPage,
  { question, title, columns, rows, from, to, about }: AuditorAnswer,
): void {
  const widths = Object.hasOwn(WIDTHS, question) ? WIDTHS[question as AuditorQuestionName] : [];
  // A page holds few of so many rows with whole digests; the file that is carried has them.
  const isLong = rows.length > FEW_ROWS;
  page.facts([
    [AUDITOR_PAPER.period, AUDITOR_PAPER.periodOf(from, to)],
    ...(about === null ? [] : [[AUDITOR_PAPER.about, about] as const]),
    [AUDITOR_PAPER.rows, String(rows.length)],
  ]);
  page.table({
    caption: title,
    columns: columns.map((head, column) => ({ head, width: widths[column] ?? 1 / columns.length })),
    rows: rows.map((row) => row.map((cell) => (isLong ? shortDigest(cellText(cell)) : cellText(cell)))),
    empty: AUDITOR_PAPER.nothing,
  });
}
