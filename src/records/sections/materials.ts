import { reuseCycles } from '../../assessment/materials.js';
import { powderSharesOfState } from '../../assessment/powder-shares.js';
import { virginFractions } from '../../assessment/virgin-powder.js';
import type { Facts } from '../../dossier/facts.js';
import { timeText } from '../../dossier/time-text.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Receipt } from '../../kinds/receipt.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { evidenceAnchor, short } from '../../report/anchors.js';
import { type CertificateComparison, certificateLines, checkersOf } from '../../report/certificate-lines.js';
import { genealogyFigure } from '../../report/genealogy-figure.js';
import { sharesText, virginText } from '../../report/phrases/powder-shares.js';
import { MATERIALS } from '../../report/phrases/record-materials.js';
import { powderOperationText, receiptStatusText } from '../../report/phrases/trade-codes.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { personText } from './post-process.js';

/** Where the metal came from, and certificates line by line against the specification. */
export function drawMaterials(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  const cycles = reuseCycles(facts);
  const virgin = virginFractions(facts);
  pdf.figure(genealogyFigure(facts, tellsOf(view)));
  pdf.table({
    caption: MATERIALS.powderStates,
    columns: [
      { head: MATERIALS.state, width: 1.2 },
      { head: MATERIALS.operation, width: 1.5 },
      { head: MATERIALS.made, width: 2.2 },
      { head: MATERIALS.by, width: 0.8 },
      { head: MATERIALS.contains, width: 3.2 },
      { head: MATERIALS.shares, width: 3.8 },
      { head: MATERIALS.reuseCycle, width: 1 },
      { head: MATERIALS.virgin, width: 1.3 },
    ],
    rows: [...facts.powderStates.values()].map(({ body }) => [
      body.state,
      powderOperationText(body.operation),
      timeText(body.madeAt),
      body.madeBy,
      body.inputs.map((input) => `${'receipt' in input ? input.receipt : input.state} ${input.massG} g`).join('; '),
      sharesText(powderSharesOfState(facts, body.state)),
      String(cycles.get(body.state)),
      virginText(virgin.get(body.state)),
    ]),
  });
  const receipts = [...facts.receipts.values()].map(({ body }) => body);
  pdf.table({
    caption: MATERIALS.receipts,
    columns: [
      { head: MATERIALS.receipt, width: 1.3 },
      { head: MATERIALS.materialAndHeats, width: 2.2 },
      { head: MATERIALS.supplierAndLot, width: 3 },
      { head: MATERIALS.receivedExpiryStatus, width: 2.6 },
      { head: MATERIALS.certificate, width: 3 },
      { head: MATERIALS.paper, width: 2.2 },
      { head: MATERIALS.transcribedAndChecked, width: 3.2 },
    ],
    rows: receipts.map((receipt) => {
      const { material, heats, supplier, supplierLot, receivedAt, expiry, status, certificate } = receipt;
      return [
        receipt.receipt,
        [material, ...heats].join(', '),
        `${facts.suppliers.get(supplier)?.body.title ?? supplier}, ${supplierLot}`,
        MATERIALS.receivedOf(receivedAt.slice(0, 10), expiry ?? MATERIALS.noneStated, receiptStatusText(status)),
        certificate
          ? MATERIALS.certificateOf(certificate.number, certificate.type, certificate.issued)
          : MATERIALS.noCertificate,
        certificate ? paperText(facts, receipt) : '',
        certificate
          ? MATERIALS.transcribedOf(personText(facts, certificate.transcribedBy), checkersOf(facts, receipt))
          : '',
      ];
    }),
  });
  drawCertificates(pdf, facts, receipts);
}

/** So many certificates of one material stand beside each other. */
const MOST_BESIDE = 3;

/** Certificates of a material beside each other, line by line against the specification. */
function drawCertificates(pdf: RecordPage, facts: Facts, receipts: readonly Receipt[]): void {
  const certified = receipts.filter(({ certificate }) => certificate !== undefined);
  for (const material of new Set(certified.map((receipt) => receipt.material))) {
    const own = certified.filter((receipt) => receipt.material === material);
    for (let at = 0; at < own.length; at += MOST_BESIDE) {
      drawBeside(pdf, facts, material, own.slice(at, at + MOST_BESIDE));
    }
  }
}

function drawBeside(pdf: RecordPage, facts: Facts, material: string, receipts: readonly Receipt[]): void {
  const lines = receipts.map((receipt) => ({ paper: paperOf(facts, receipt), own: certificateLines(facts, receipt) }));
  const properties = [...new Set(lines.flatMap(({ own }) => own.map(({ property }) => property)))];
  pdf.table({
    caption: MATERIALS.lines(material),
    columns: [
      { head: MATERIALS.property, width: 2 },
      { head: MATERIALS.limitOfTheSpecification, width: 2.6 },
      ...receipts.map(({ certificate }) => ({ head: certificate!.number, width: 3.6 })),
    ],
    rows: properties.map((property) => {
      const found = lines.map(({ paper, own }) => ({ paper, line: own.find((line) => line.property === property) }));
      return {
        cells: [
          property,
          found.find(({ line }) => line)!.line!.limit,
          ...found.map(({ paper, line }) => (line ? certifiedText(paper, line) : MATERIALS.notStated)),
        ],
        attention: found.some(({ line }) => line && line.outcome !== 'conforms' && line.outcome !== 'for information'),
      };
    }),
    empty: MATERIALS.noLines,
  });
}

/** What is certified, leading to the paper, and what it comes to. */
function certifiedText(
  paper: { sha256: string } | undefined,
  { certified, ucum, inUnitOfLimit, says }: CertificateComparison,
): Text {
  const rest = MATERIALS.outcomeOf(ucum === '' ? '' : tradeUnit(ucum), inUnitOfLimit, says);
  return paper ? [{ text: certified, to: evidenceAnchor(paper.sha256) }, rest] : `${certified}${rest}`;
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
