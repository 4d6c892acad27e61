import type { Facts } from '../dossier/facts.js';
import { closuresOf } from '../kinds/build-chain.js';
import { yieldOf } from '../kinds/powder-state.js';
import { textMetric } from '../pdf/shaping.js';
import { genealogy } from './charts/genealogy.js';
import type { LotFigure } from './lot-figure.js';
import { GENEALOGY } from './phrases/figures/genealogy.js';

/**
 * From heats through receipts and powder states to the builds and implants of the lot.
 * @param isShown of a serial: whether it is drawn; each is when absent.
 */
export function genealogyFigure(facts: Facts, isShown: (serial: string) => boolean = () => true): LotFigure {
  const { lot } = facts;
  const nodes: { id: string; title: string; detail: string }[] = [];
  const edges: { from: string; to: string }[] = [];
  for (const receipt of facts.receipts.values()) {
    if (receipt.body.category !== 'powder') continue;
    nodes.push({
      id: `r ${receipt.body.receipt}`,
      title: receipt.body.receipt,
      detail: GENEALOGY.receipt(receipt.body.status),
    });
    for (const heat of receipt.body.heats) {
      const id = `h ${receipt.body.supplier} ${heat}`;
      if (!nodes.some((node) => node.id === id))
        nodes.push({ id, title: heat, detail: GENEALOGY.heat(receipt.body.supplier) });
      edges.push({ from: id, to: `r ${receipt.body.receipt}` });
    }
  }
  for (const state of facts.powderStates.values()) {
    const { state: code, operation, inputs } = state.body;
    nodes.push({ id: `s ${code}`, title: code, detail: GENEALOGY.state(operation, Number(yieldOf(state.body))) });
    for (const input of inputs) {
      edges.push({ from: 'receipt' in input ? `r ${input.receipt}` : `s ${input.state}`, to: `s ${code}` });
    }
  }
  for (const build of lot.body.builds) {
    nodes.push({ id: `b ${build.build}`, title: build.build, detail: GENEALOGY.build });
    for (const powder of build.powder) edges.push({ from: `s ${powder.state}`, to: `b ${build.build}` });
  }
  const implants = lot.body.implants.filter(({ serial }) => isShown(serial));
  for (const implant of implants) {
    nodes.push({ id: `i ${implant.serial}`, title: implant.serial, detail: GENEALOGY.implant(implant.case) });
    for (const build of closuresOf(implant)) edges.push({ from: `b ${build}`, to: `i ${implant.serial}` });
  }
  const titleOf = (id: string) => nodes.find((node) => node.id === id)?.title ?? id.slice(2);
  return {
    scene: genealogy({ title: GENEALOGY.title(lot.body.lot), nodes, edges }, textMetric),
    alt: GENEALOGY.alt(
      nodes.map(({ title, detail }) => GENEALOGY.node(title, detail)),
      edges.map(({ from, to }) => GENEALOGY.arrow(titleOf(from), titleOf(to))),
    ),
    caption: GENEALOGY.caption,
  };
}
