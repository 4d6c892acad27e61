import { reuseCycles } from '../assessment/materials.js';
import { powderSharesOfState } from '../assessment/powder-shares.js';
import { virginFractions } from '../assessment/virgin-powder.js';
import type { Facts } from '../dossier/facts.js';
import { timeText } from '../dossier/time-text.js';
import { certificateLines, checkersOf } from '../report/certificate-lines.js';
import { figureView } from '../report/figure-view.js';
import { genealogyFigure } from '../report/genealogy-figure.js';
import { GENEALOGY } from '../report/phrases/figures/genealogy.js';
import { LOT_PAGE } from '../report/phrases/lot-page.js';
import { sharesText, virginText } from '../report/phrases/powder-shares.js';

/** Where the metal and the gas of a lot came from. */
export function lotMaterialsView(facts: Facts) {
  const cycles = reuseCycles(facts);
  const virgin = virginFractions(facts);
  return {
    figure: figureView(genealogyFigure(facts), GENEALOGY.title(facts.lot.body.lot), 'genealogy'),
    powderStates: [...facts.powderStates.values()].map(({ body }) => ({
      ...body,
      made: timeText(body.madeAt),
      reuseCycle: cycles.get(body.state),
      shares: sharesText(powderSharesOfState(facts, body.state)),
      virgin: virginText(virgin.get(body.state)),
      contains: body.inputs.map((input) =>
        LOT_PAGE.input('receipt' in input ? input.receipt : input.state, input.massG),
      ),
    })),
    receipts: [...facts.receipts.values()].map(({ body }) => ({
      ...body,
      supplierTitle: facts.suppliers.get(body.supplier)?.body.title ?? body.supplier,
      received: body.receivedAt.slice(0, 10),
      lines: certificateLines(facts, body),
      checkers: checkersOf(facts, body),
    })),
  };
}
