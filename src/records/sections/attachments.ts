import type { RecordPage } from '../../pdf/page.js';
import { evidenceAnchor } from '../../report/anchors.js';
import { ATTACHMENTS } from '../../report/phrases/record-attachments.js';
import { fileUseText } from '../../report/phrases/trade-codes.js';
import { ATTACHED } from '../enclosure.js';
import { type RecordView } from '../record-view.js';

/** What the file carries, and the evidence that stays with the cell. */
export function drawAttachments(pdf: RecordPage, { facts, enclosure, enclosureSha256 }: RecordView): void {
  const mono = (text: string) => [{ text, style: 'mono' as const }];
  pdf.table({
    caption: ATTACHMENTS.attachments,
    columns: [
      { head: ATTACHMENTS.name, width: 5.2 },
      { head: ATTACHMENTS.bytes, width: 1.4, align: 'right' },
      { head: ATTACHMENTS.sha, width: 10.8 },
    ],
    rows: [
      ...enclosure.attachments.map((item) => [
        ATTACHMENTS.nameOf(item.name, item.describes),
        String(item.bytes),
        mono(item.sha256),
      ]),
      [ATTACHMENTS.nameOf(ATTACHED.enclosure, ATTACHMENTS.beside), '', mono(enclosureSha256)],
    ],
  });
  if (enclosure.withheldCases.length > 0) {
    pdf.paragraph(ATTACHMENTS.forCase(enclosure.forCase, enclosure.withheldCases.length));
  }
  const seen = new Set<string>();
  pdf.table({
    caption: ATTACHMENTS.evidence,
    columns: [
      { head: ATTACHMENTS.file, width: 5.2 },
      { head: ATTACHMENTS.bytes, width: 1.4, align: 'right' },
      { head: ATTACHMENTS.sha, width: 10.8 },
    ],
    rows: facts.evidence.map((item) => {
      const isFirst = !seen.has(item.sha256);
      seen.add(item.sha256);
      return {
        cells: [ATTACHMENTS.nameOf(item.fileName, fileUseText(item.use)), String(item.bytes), mono(item.sha256)],
        ...(isFirst ? { anchor: evidenceAnchor(item.sha256) } : {}),
      };
    }),
  });
}
