import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { unitText } from '../../dossier/unit-text.js';
import type { Receipt } from '../../kinds/receipt.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { evidenceAnchor, short } from '../../report/anchors.js';
import { certificateLines } from '../../report/certificate-lines.js';
import { genealogyFigure } from '../../report/genealogy-figure.js';
import { type RecordView } from '../record-view.js';

/** Where the metal came from, and certificates line by line against the specification. */
export function drawMaterials(pdf: RecordPage, { facts }: RecordView): void {
  pdf.figure(genealogyFigure(facts));
  pdf.table({
    caption: 'Powder states, each a node of its own',
    columns: ['State', 'Operation', 'Made', 'By', 'Contains', 'Reuse cycle'].map((head) => ({ head })),
    rows: [...facts.powderStates.values()].map(({ body }) => [
      body.state,
      body.operation,
      timeText(body.madeAt),
      body.madeBy,
      body.inputs.map((input) => `${'receipt' in input ? input.receipt : input.state} ${input.massG} g`).join('; '),
      String(body.reuseCycle),
    ]),
  });
  pdf.table({
    caption: 'Receipts',
    columns: ['Receipt', 'Material', 'Supplier', 'Supplier lot', 'Heats', 'Received', 'Expiry', 'Status'].map(
      (head) => ({
        head,
      }),
    ),
    rows: [...facts.receipts.values()].map(({ body }) => [
      body.receipt,
      body.material,
      facts.suppliers.get(body.supplier)?.body.title ?? body.supplier,
      body.supplierLot,
      body.heats.join(', ') || 'none',
      body.receivedAt.slice(0, 10),
      body.expiry ?? 'none stated',
      body.status,
    ]),
  });
  for (const { body } of facts.receipts.values()) {
    if (body.certificate) drawCertificate(pdf, facts, body);
  }
}

function drawCertificate(pdf: RecordPage, facts: Facts, receipt: Receipt): void {
  const certificate = receipt.certificate!;
  const paper = paperOf(facts, receipt);
  pdf.heading(2, `Certificate ${certificate.number}`);
  pdf.facts([
    ['Receipt', `${receipt.receipt}, ${receipt.material}, lot ${receipt.supplierLot}`],
    ['Type and date', `${certificate.type}, issued ${certificate.issued}`],
    ['Paper', paperText(facts, receipt)],
    ['Transcribed and checked', `${certificate.transcribedBy}, checked by ${certificate.checkedBy ?? 'nobody'}`],
  ]);
  pdf.table({
    caption: `Certificate ${certificate.number}, line by line`,
    columns: [
      { head: 'Property', width: 2 },
      { head: 'Certified', width: 2 },
      { head: 'Unit', width: 2.2 },
      { head: 'Limit of the specification', width: 3.4 },
      { head: 'Outcome', width: 2.6 },
    ],
    rows: certificateLines(facts, receipt).map(({ property, certified, ucum, limit, outcome }) => ({
      cells: [property, leadingTo(paper, certified), unitText(ucum), limit, outcome],
      attention: outcome !== 'conforms' && outcome !== 'for information',
    })),
  });
}

/** The certificate as received, in the list of evidence. */
function paperOf(facts: Facts, { certificate }: Receipt): { fileName: string; sha256: string } | undefined {
  const name = certificate?.file?.split('/').at(-1);
  return facts.dossier.evidence.find(({ fileName }) => name !== undefined && fileName.split('/').at(-1) === name);
}

function paperText(facts: Facts, receipt: Receipt): Text {
  const paper = paperOf(facts, receipt);
  if (!paper) return receipt.certificate?.file ? 'not among the evidence of this lot' : 'none: transcription only';
  return [`${paper.fileName}, `, { text: short(paper.sha256), style: 'mono', to: evidenceAnchor(paper.sha256) }];
}

const leadingTo = (paper: { sha256: string } | undefined, text: string): Text =>
  paper ? [{ text, to: evidenceAnchor(paper.sha256) }] : text;
