import { timeText } from '../../dossier/time-text.js';
import type { RecordPage } from '../pdf/page.js';
import { type RecordView } from '../record-view.js';

/** What the file carries, and the evidence that stays with the cell. */
export function drawAttachments(pdf: RecordPage, { facts, enclosure, enclosureSha256 }: RecordView): void {
  const mono = (text: string) => [{ text, style: 'mono' as const }];
  pdf.table({
    caption: 'Attachments',
    columns: [
      { head: 'Name', width: 3 },
      { head: 'What', width: 3.4 },
      { head: 'Bytes', width: 1.2, align: 'right' },
      { head: 'SHA-256', width: 5.4 },
    ],
    rows: [
      ...enclosure.attachments.map((item) => [item.name, item.describes, String(item.bytes), mono(item.sha256)]),
      ['enclosure.json', 'what the record shows beside the lot file', '', mono(enclosureSha256)],
    ],
  });
  pdf.table({
    caption: 'Evidence kept by the cell',
    columns: [
      { head: 'File', width: 3 },
      { head: 'Use', width: 1.6 },
      { head: 'Bytes', width: 1.6, align: 'right' },
      { head: 'SHA-256', width: 6 },
    ],
    rows: facts.dossier.evidence.map((item) => [item.fileName, item.use, String(item.bytes), mono(item.sha256)]),
  });
  pdf.heading(2, 'Audit trail');
  pdf.facts([
    [
      'Lot file as of',
      `entry ${facts.dossier.asOf.ledgerEntry} of the audit trail, ${timeText(facts.dossier.asOf.at)}`,
    ],
    [
      'Audit trail when printed',
      [`${enclosure.ledger.size} entries, root `, { text: enclosure.ledger.root, style: 'mono' }],
    ],
    ['Signed head and proofs', 'not recorded by this version'],
  ]);
}
