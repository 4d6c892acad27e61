import type { Facts } from '../dossier/facts.js';
import { certificateLines, checkersOf } from '../report/certificate-lines.js';
import { depositedRows } from '../report/deposited-rows.js';
import { figureView } from '../report/figure-view.js';
import { genealogyFigures } from '../report/genealogy-figure.js';
import { receiptCertificateAddress } from '../report/page-addresses.js';
import { DEPOSITED } from '../report/phrases/deposited.js';
import { GENEALOGY } from '../report/phrases/figures/genealogy.js';
import { POWDER_ROWS } from '../report/phrases/powder-rows.js';
import { RECEIPT_CERTIFICATE } from '../report/phrases/receipt-certificate.js';
import { STOCK_ROWS } from '../report/phrases/stock-parts.js';
import { powderBalanceRows, powderRows } from '../report/powder-rows.js';
import { stockRows } from '../report/stock-rows.js';

/** Where the metal and the gas of a lot came from. */
export function lotMaterialsView(facts: Facts) {
  return {
    figures: genealogyFigures(facts).map((figure, index) =>
      figureView(figure, GENEALOGY.title(facts.lot.body.lot), `genealogy-${index + 1}`),
    ),
    tables: POWDER_ROWS,
    powder: powderRows(facts),
    balance: powderBalanceRows(facts),
    placesLink: RECEIPT_CERTIFICATE.link,
    stock: stockRows(facts),
    stockTable: STOCK_ROWS,
    deposited: depositedRows(facts),
    depositedTable: DEPOSITED,
    receipts: [...facts.receipts.values()].map(({ body }) => ({
      ...body,
      supplierTitle: facts.suppliers.get(body.supplier)?.body.title ?? body.supplier,
      received: body.receivedAt.slice(0, 10),
      lines: certificateLines(facts, body),
      checkers: checkersOf(facts, body),
      inFile: body.certificate?.readBy ? receiptCertificateAddress(body.receipt) : null,
    })),
  };
}
