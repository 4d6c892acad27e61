import { specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../../pdf/page.js';
import { findingAnchor, short } from '../../report/anchors.js';
import { findingLines, mostSevere } from '../../report/finding-lines.js';
import { notRecordedText } from '../../report/phrases/not-recorded.js';
import { type RecordView } from '../record-view.js';
import { personText } from './post-process.js';

/** What did not go as planned and what was done about it. */
export function drawNonconformities(pdf: RecordPage, view: RecordView): void {
  const { lines, others } = mostSevere(findingLines(view.facts).filter((line) => line.level !== 'alert'));
  pdf.table({
    caption: 'Log findings that act on implants, with what was decided',
    columns: [
      { head: 'Finding', width: 1.8 },
      { head: 'Level', width: 1.1 },
      { head: 'Covers', width: 3 },
      { head: 'Decision', width: 7 },
    ],
    rows: lines.map((line) => [
      [{ text: short(line.id), style: 'mono' as const, to: findingAnchor(line.id) }],
      line.members > 1 ? `${line.level}, ${line.members} alike` : line.level,
      [...line.implants, ...line.coupons].join(', ') || 'no part',
      line.decided,
    ]),
    empty: 'None.',
  });
  if (others > 0) pdf.paragraph(`${others} more stand in the attached parts of the logs.`, { small: true });
  drawTests(pdf, view);
  pdf.paragraph(notRecordedText('Nonconformity reports and rework'));
}

/** Tests that failed as tests, and specimens that took the place of others. */
function drawTests(pdf: RecordPage, { facts }: RecordView): void {
  const { invalidTests = [], replacements = [] } = facts.lot.body;
  pdf.table({
    caption: 'Tests taken out as invalid: their values stay on record',
    columns: [
      { head: 'Value', width: 3 },
      { head: 'Cause', width: 5 },
      { head: 'Seen by', width: 2.4 },
      { head: 'Decided by', width: 2.4 },
      { head: 'At', width: 2.2 },
    ],
    rows: invalidTests.map(({ result, cause, seenBy, decidedBy, at }) => [
      `${specimenText(result)}, ${result.characteristic} (${result.replicate})`,
      cause,
      personText(facts, seenBy),
      personText(facts, decidedBy),
      timeText(at),
    ]),
    empty: 'None.',
  });
  pdf.table({
    caption: 'Specimens tested in place of others',
    columns: [
      { head: 'Characteristic', width: 2.4 },
      { head: 'Replaced', width: 2.4 },
      { head: 'By', width: 2.4 },
      { head: 'Reason', width: 6 },
    ],
    rows: replacements.map(({ characteristic, replaces, by, reason }) => [characteristic, replaces, by, reason]),
    empty: 'None.',
  });
}
