import type { Facts } from '../../dossier/facts.js';
import { tradeUnit } from '../../dossier/unit-text.js';
import type { Receipt } from '../../kinds/receipt.js';
import type { RecordPage } from '../../pdf/page.js';
import type { Text } from '../../pdf/text-layout.js';
import { evidenceAnchor, short } from '../../report/anchors.js';
import { type CertificateComparison, certificateLines, checkersOf } from '../../report/certificate-lines.js';
import { depositedRows } from '../../report/deposited-rows.js';
import { genealogyFigures } from '../../report/genealogy-figure.js';
import { DEPOSITED } from '../../report/phrases/deposited.js';
import { POWDER_ROWS } from '../../report/phrases/powder-rows.js';
import { MATERIALS } from '../../report/phrases/record-materials.js';
import { STOCK_ROWS } from '../../report/phrases/stock-parts.js';
import { receiptStatusText } from '../../report/phrases/trade-codes.js';
import { powderBalanceRows, powderRows } from '../../report/powder-rows.js';
import { type StockRow, stockRows } from '../../report/stock-rows.js';
import { type RecordView, tellsOf } from '../record-view.js';
import { personText } from './post-process.js';

/** Where the metal came from, and certificates line by line against the specification. */
export function drawMaterials(pdf: RecordPage, view: RecordView): void {
  const { facts } = view;
  for (const figure of genealogyFigures(facts, tellsOf(view))) pdf.figure(figure);
  drawPowder(pdf, facts);
  drawStock(pdf, stockRows(facts, tellsOf(view)));
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
  drawDeposited(pdf, facts);
}

/** Each state with what is computed of it, and where the powder of each build went. */
function drawPowder(pdf: RecordPage, facts: Facts): void {
  const { heads, balanceHeads } = POWDER_ROWS;
  pdf.table({
    caption: POWDER_ROWS.states,
    columns: [
      { head: heads.state, width: 1.1 },
      { head: heads.made, width: 3.4 },
      { head: heads.contains, width: 2.2 },
      { head: heads.cameOut, width: 1.5 },
      { head: heads.shares, width: 2.6 },
      { head: heads.reuseCycle, width: 1 },
      { head: heads.virgin, width: 1.2 },
      { head: heads.measured, width: 1.8 },
    ],
    rows: powderRows(facts).map((row) => [
      row.state,
      row.made,
      row.contains.join('; '),
      row.cameOut,
      row.receipts,
      row.reuseCycle,
      row.virgin,
      row.measured.join('; '),
    ]),
  });
  pdf.table({
    caption: POWDER_ROWS.balance,
    columns: [
      { head: balanceHeads.build, width: 1.6 },
      { head: balanceHeads.state, width: 1.2 },
      { head: balanceHeads.charged, width: 1.4 },
      { head: balanceHeads.deposited, width: 1.6 },
      { head: balanceHeads.recovered, width: 2.4 },
      { head: balanceHeads.waste, width: 1.4 },
      { head: balanceHeads.missing, width: 3 },
    ],
    rows: powderBalanceRows(facts).map((row) => [
      row.build,
      row.state,
      row.charged,
      row.deposited,
      row.recovered,
      row.waste,
      row.missing,
    ]),
  });
}

/** Nothing where nothing was built on a part that was there before. */
function drawStock(pdf: RecordPage, rows: readonly StockRow[]): void {
  if (rows.length === 0) return;
  const { heads } = STOCK_ROWS;
  pdf.table({
    caption: STOCK_ROWS.caption,
    columns: [
      { head: heads.part, width: 1.5 },
      { head: heads.stock, width: 1.5 },
      { head: heads.was, width: 3 },
      { head: heads.face, width: 3.6 },
      { head: heads.story, width: 5 },
    ],
    rows: rows.map(({ part, stockPart, was, face, story }) => [
      part,
      stockPart,
      was,
      face.join('; '),
      story.join('; '),
    ]),
  });
}

/** Nothing where no characteristic is an analysis of the deposited metal. */
function drawDeposited(pdf: RecordPage, facts: Facts): void {
  const rows = depositedRows(facts);
  if (rows.length === 0) return;
  const { heads } = DEPOSITED;
  pdf.table({
    caption: DEPOSITED.caption,
    columns: [
      { head: heads.property, width: 1.6 },
      { head: heads.build, width: 1.6 },
      { head: heads.certified, width: 2.6 },
      { head: heads.deposited, width: 4 },
      { head: heads.change, width: 4 },
    ],
    rows: rows.map((row) => [row.property, row.build, row.certified, row.deposited, row.change]),
  });
  pdf.paragraph(DEPOSITED.note, { small: true });
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
