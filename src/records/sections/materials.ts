import { reuseCycles } from '../../assessment/materials.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Receipt } from '../../kinds/receipt.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { evidenceAnchor, short } from '../../report/anchors.js';
import { certificateLines, checkersOf } from '../../report/certificate-lines.js';
import { genealogyFigure } from '../../report/genealogy-figure.js';
import { MATERIALS } from '../../report/phrases/record-materials.js';
import { powderOperationText, receiptStatusText } from '../../report/phrases/trade-codes.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { personText } from './post-process.js';

/** Where the metal came from, and certificates line by line against the specification. */
export function drawMaterials(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const cycles = reuseCycles(facts);
  pdf.figure(genealogyFigure(facts, tellsOf(view)));
  pdf.table({
    caption: MATERIALS.powderStates,
    columns: [
      MATERIALS.state,
      MATERIALS.operation,
      MATERIALS.made,
      MATERIALS.by,
      MATERIALS.contains,
      MATERIALS.reuseCycle,
    ].map((head) => ({ head })),
    rows: [...facts.powderStates.values()].map(({ body }) => [
      body.state,
      powderOperationText(body.operation),
      timeText(body.madeAt),
      body.madeBy,
      body.inputs.map((input) => `${'receipt' in input ? input.receipt : input.state} ${input.massG} g`).join('; '),
      String(cycles.get(body.state)),
    ]),
  });
  pdf.table({
    caption: MATERIALS.receipts,
    columns: [
      MATERIALS.receipt,
      MATERIALS.material,
      MATERIALS.supplier,
      MATERIALS.supplierLot,
      MATERIALS.heats,
      MATERIALS.received,
      MATERIALS.expiry,
      MATERIALS.status,
    ].map((head) => ({
      head,
    })),
    rows: [...facts.receipts.values()].map(({ body }) => [
      body.receipt,
      body.material,
      facts.suppliers.get(body.supplier)?.body.title ?? body.supplier,
      body.supplierLot,
      body.heats.join(', ') || MATERIALS.none,
      body.receivedAt.slice(0, 10),
      body.expiry ?? MATERIALS.noneStated,
      receiptStatusText(body.status),
    ]),
  });
  for (const { body } of facts.receipts.values()) {
    if (body.certificate) drawCertificate(pdf, facts, body);
  }
}

function drawCertificate(pdf: RecordPage, facts: Facts, receipt: Receipt): void {
  const certificate = receipt.certificate!;
  const paper = paperOf(facts, receipt);
  pdf.heading(2, MATERIALS.certificate(certificate.number));
  pdf.facts(
    [
      [MATERIALS.receipt, MATERIALS.receiptOf(receipt.receipt, receipt.material, receipt.supplierLot)],
      [MATERIALS.typeAndDate, MATERIALS.typeAndDateOf(certificate.type, certificate.issued)],
      [MATERIALS.paper, paperText(facts, receipt)],
      [
        MATERIALS.transcribedAndChecked,
        MATERIALS.transcribedOf(personText(facts, certificate.transcribedBy), checkersOf(facts, receipt)),
      ],
    ],
    { small: true },
  );
  pdf.table({
    caption: MATERIALS.lines(certificate.number),
    columns: [
      { head: MATERIALS.property, width: 2 },
      { head: MATERIALS.certified, width: 2 },
      { head: MATERIALS.unit, width: 2.2 },
      { head: MATERIALS.limitOfTheSpecification, width: 3.4 },
      { head: MATERIALS.outcome, width: 2.6 },
    ],
    rows: certificateLines(facts, receipt).map(({ property, certified, ucum, limit, outcome, says }) => ({
      cells: [property, leadingTo(paper, certified), tradeUnit(ucum), limit, says],
      attention: outcome !== 'conforms' && outcome !== 'for information',
    })),
  });
}

/** The certificate as received, in the list of evidence. */
function paperOf(facts: Facts, { certificate }: Receipt): { fileName: string; sha256: string } | undefined {
  const name = certificate?.file?.split('/').at(-1);
  return facts.evidence.find(({ fileName }) => name !== undefined && fileName.split('/').at(-1) === name);
}

function paperText(facts: Facts, receipt: Receipt): Text {
  const paper = paperOf(facts, receipt);
  if (!paper) return receipt.certificate?.file ? MATERIALS.paperMissing : MATERIALS.noPaper;
  return [`${paper.fileName}, `, { text: short(paper.sha256), style: 'mono', to: evidenceAnchor(paper.sha256) }];
}

const leadingTo = (paper: { sha256: string } | undefined, text: string): Text =>
  paper ? [{ text, to: evidenceAnchor(paper.sha256) }] : text;
