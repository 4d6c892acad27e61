import type { Facts } from '../../dossier/facts.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Span } from '../../pdf/text-layout.js';
import { evidenceAnchor, short } from '../../report/anchors.js';
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
      { head: ATTACHMENTS.name, width: 6.6 },
      { head: ATTACHMENTS.bytes, width: 1.3, align: 'right' },
      { head: ATTACHMENTS.sha, width: 9.5 },
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
  for (const digest of new Set(facts.evidence.map(({ sha256 }) => sha256))) pdf.anchor(evidenceAnchor(digest));
  const uses = new Map<string, Evidence[]>();
  for (const item of facts.evidence) {
    const [name] = useOf(item);
    uses.set(name, [...(uses.get(name) ?? []), item]);
  }
  pdf.table({
    caption: ATTACHMENTS.evidence,
    columns: [
      { head: ATTACHMENTS.use, width: 2.2 },
      { head: ATTACHMENTS.files, width: 13 },
    ],
    rows: [...uses].map(([name, items]) => [
      name,
      items.flatMap((item, index): Span[] => [
        `${index === 0 ? '' : '; '}${ATTACHMENTS.fileOf(item.fileName, useOf(item)[1], item.bytes)} `,
        { text: short(item.sha256), style: 'mono' },
      ]),
    ]),
    empty: ATTACHMENTS.noEvidence,
  });
}

type Evidence = Facts['evidence'][number];

/** What a file is, and of which document, if it is of one. */
function useOf({ use }: Evidence): [name: string, of: string] {
  const [, name, of] = /^(.+?) of (.+)$/.exec(fileUseText(use)) ?? [];
  return name === undefined ? [fileUseText(use), ''] : [name, of!];
}
