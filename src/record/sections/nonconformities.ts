import type { RecordPage } from '../pdf/page.js';
import { findingAnchor, findingLines, type RecordView } from '../record-view.js';
import { drawNotRecorded } from './not-recorded.js';

/** What did not go as planned and what was done about it. */
export function drawNonconformities(pdf: RecordPage, { facts }: RecordView): void {
  const severe = findingLines(facts).filter((line) => line.level !== 'alert');
  pdf.table({
    caption: 'Log findings that act on implants, with what was decided',
    columns: [
      { head: 'Finding', width: 1.8 },
      { head: 'Level', width: 1.1 },
      { head: 'Covers', width: 3 },
      { head: 'Decision', width: 7 },
    ],
    rows: severe.map((line) => [
      [{ text: line.id.slice(0, 12), style: 'mono' as const, to: findingAnchor(line.id) }],
      line.level,
      [...line.implants, ...line.coupons].join(', ') || 'no part',
      line.decided,
    ]),
    empty: 'None.',
  });
  drawNotRecorded(pdf, 'Nonconformity reports, rework, and what was scrapped');
}
