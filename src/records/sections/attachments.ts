import type { RecordPage } from '../../pdf/page.js';
import { evidenceAnchor } from '../../report/anchors.js';
import { ATTACHED } from '../enclosure.js';
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
      [ATTACHED.enclosure, 'what the record shows beside the lot file', '', mono(enclosureSha256)],
    ],
  });
  if (enclosure.withheldCases.length > 0) {
    pdf.paragraph(
      `This copy is meant for the institution of case ${enclosure.forCase}. The facts of ${enclosure.withheldCases.length} other case(s) are left out; their digests stand in the lot file.`,
    );
  }
  const seen = new Set<string>();
  pdf.table({
    caption: 'Evidence kept by the cell',
    columns: [
      { head: 'File', width: 3 },
      { head: 'Use', width: 1.6 },
      { head: 'Bytes', width: 1.6, align: 'right' },
      { head: 'SHA-256', width: 6 },
    ],
    rows: facts.dossier.evidence.map((item) => {
      const isFirst = !seen.has(item.sha256);
      seen.add(item.sha256);
      return {
        cells: [item.fileName, item.use, String(item.bytes), mono(item.sha256)],
        ...(isFirst ? { anchor: evidenceAnchor(item.sha256) } : {}),
      };
    }),
  });
}
