import { heatShares } from '../assessment/heat-shares.js';
import { type PowderShare, powderSharesOfBuild, sharesOfStates } from '../assessment/powder-shares.js';
import type { Facts } from '../dossier/facts.js';
import { closuresOf } from '../kinds/build-chain.js';
import type { Implant } from '../kinds/lot.js';
import { yieldOf } from '../kinds/powder-state.js';
import { heatKey } from '../kinds/receipt.js';
import { textMetric } from '../pdf/shaping.js';
import { genealogy } from './charts/genealogy.js';
import type { GenealogyEdge, GenealogyNode } from './charts/genealogy-layout.js';
import type { LotFigure } from './lot-figure.js';
import { GENEALOGY } from './phrases/figures/genealogy.js';
import { heatTexts } from './phrases/powder-shares.js';
import { type StockMetal, stockMetals } from './stock-metal.js';

/** So many states are drawn, those nearest to the builds; the table beside the picture has all. */
const MOST_STATES = 60;
/** So many heats are told in a box. */
const MOST_HEATS = 3;
const EARLIER = 'earlier';

/**
 * From heats through receipts, powder states and stock parts to the builds and implants of the lot, with what went over in
 * grams and of what each state consists: one picture, or several where they do not fit a page.
 * @param isShown of a serial: whether it is drawn; each is when absent.
 */
export function genealogyFigures(facts: Facts, isShown: (serial: string) => boolean = () => true): LotFigure[] {
  const { lot } = facts;
  const states = nearestStates(facts);
  const drawn = powderDrawn(facts, states);
  const implants = lot.body.implants.filter(({ serial }) => isShown(serial));
  addStock(facts, implants, drawn);
  const nodes: GenealogyNode[] = [...drawn.nodes.values()];
  const edges: GenealogyEdge[] = [...drawn.edges];
  for (const { build, powder } of lot.body.builds) {
    nodes.push({
      id: `b ${build}`,
      title: build,
      lines: [GENEALOGY.build, ...heatLines(facts, powderSharesOfBuild(facts, build))],
    });
    for (const { state, chargedG } of powder)
      edges.push({ from: `s ${state}`, to: `b ${build}`, label: GENEALOGY.mass(chargedG) });
  }
  for (const implant of implants) {
    nodes.push({ id: `i ${implant.serial}`, title: implant.serial, lines: [GENEALOGY.implant(implant.case)] });
    for (const build of closuresOf(implant)) edges.push({ from: `b ${build}`, to: `i ${implant.serial}` });
  }
  const titleOf = new Map(nodes.map(({ id, title }) => [id, title]));
  const alt = GENEALOGY.alt(
    nodes.map(({ title, lines }) => GENEALOGY.node(title, lines)),
    edges.map(({ from, to, label }) => GENEALOGY.arrow(titleOf.get(from)!, titleOf.get(to)!, label)),
  );
  const { title, continued, caption } = GENEALOGY;
  const code = lot.body.lot;
  return genealogy({ title: title(code), continued: continued(code), nodes, edges }, textMetric).map((scene) => ({
    ...{ scene, alt, caption: caption(implants.some(({ builtOn }) => builtOn !== undefined)) },
  }));
}

/** Codes of the states nearest to the builds, by steps back. */
function nearestStates({ lot, powderStates }: Facts): ReadonlySet<string> {
  const found = new Set(lot.body.builds.flatMap(({ powder }) => powder.map(({ state }) => state)));
  // A set is walked also over what is added on the way.
  for (const state of found) {
    for (const input of powderStates.get(state)?.body.inputs ?? []) {
      if ('state' in input && found.size < MOST_STATES) found.add(input.state);
    }
  }
  return found;
}

interface Drawn {
  /** By their ids. */
  readonly nodes: Map<string, GenealogyNode>;
  readonly edges: GenealogyEdge[];
}

/** States as chosen, what went into them, and the heats behind it; all that is further back as one thing. */
function powderDrawn(facts: Facts, states: ReadonlySet<string>): Drawn {
  const nodes = new Map<string, GenealogyNode>();
  const edges: GenealogyEdge[] = [];
  const shares = sharesOfStates(facts);
  const left = facts.powderStates.size - states.size;
  for (const code of states) {
    const state = facts.powderStates.get(code)?.body;
    if (state === undefined) continue;
    const lines = [GENEALOGY.state(state.operation, yieldOf(state)), ...heatLines(facts, shares.get(code) ?? [])];
    nodes.set(`s ${code}`, { id: `s ${code}`, title: code, lines });
    for (const input of state.inputs) {
      const label = GENEALOGY.mass(input.massG);
      if ('receipt' in input) {
        addReceipt(facts, input.receipt, { nodes, edges });
        push({ nodes, edges }, { from: `r ${input.receipt}`, to: `s ${code}`, label });
      } else if (states.has(input.state)) edges.push({ from: `s ${input.state}`, to: `s ${code}`, label });
      else {
        nodes.set(EARLIER, { id: EARLIER, title: GENEALOGY.earlier(left), lines: [GENEALOGY.earlierDetail] });
        edges.push({ from: EARLIER, to: `s ${code}`, label });
      }
    }
  }
  return { nodes, edges };
}

/** An edge from something that is not drawn says nothing. */
function push({ nodes, edges }: Drawn, edge: GenealogyEdge): void {
  if (nodes.has(edge.from)) edges.push(edge);
}

/** The stock on which implants were built, with the receipt that it came with, or the implant that it was. */
function addStock(facts: Facts, implants: readonly Implant[], drawn: Drawn): void {
  for (const implant of implants) {
    let to = `i ${implant.serial}`;
    for (const metal of stockMetals(facts, implant)) {
      const id = `k ${metal.stockPart}`;
      drawn.edges.push({ from: id, to, label: GENEALOGY.builtOn });
      // Two parts may have been built on it, one after the other.
      if (drawn.nodes.has(id)) break;
      drawn.nodes.set(id, { id, title: metal.stockPart, lines: [GENEALOGY.stock(metal.material)] });
      if (metal.was === undefined) addBar(facts, metal, id, drawn);
      else to = addFormer(metal, metal.was, id, drawn);
    }
  }
}

/** @returns id of the former implant. */
function addFormer({ heats }: StockMetal, was: NonNullable<StockMetal['was']>, to: string, drawn: Drawn): string {
  const id = `o ${was.implant}`;
  drawn.nodes.set(id, { id, title: was.implant, lines: [GENEALOGY.wasImplant(was.lot)] });
  drawn.edges.push({ from: id, to });
  for (const { supplier, heat } of heats) addHeat(supplier, heat, id, drawn);
  return id;
}

function addBar(facts: Facts, { receipts, heats, certificate }: StockMetal, to: string, drawn: Drawn): void {
  for (const code of receipts) {
    addReceipt(facts, code, drawn);
    const id = `r ${code}`;
    // Of one that came for an earlier lot, the lot file has no more than the story of what was built on it.
    if (!drawn.nodes.has(id) && certificate !== undefined) {
      const paper = certificate.number === undefined ? [] : [GENEALOGY.certificate(certificate.number)];
      drawn.nodes.set(id, { id, title: code, lines: [GENEALOGY.earlierReceipt, ...paper] });
      for (const { supplier, heat } of heats) addHeat(supplier, heat, id, drawn);
    }
    push(drawn, { from: id, to });
  }
}

function addReceipt(facts: Facts, code: string, drawn: Drawn): void {
  const id = `r ${code}`;
  const receipt = facts.receipts.get(code)?.body;
  if (receipt === undefined || drawn.nodes.has(id)) return;
  const { status, massG, certificate } = receipt;
  const paper = certificate === undefined ? [] : [GENEALOGY.certificate(certificate.number)];
  drawn.nodes.set(id, { id, title: code, lines: [GENEALOGY.receipt(status, massG), ...paper] });
  for (const heat of receipt.heats) addHeat(receipt.supplier, heat, id, drawn);
}

/** @param to id of what it went into. */
function addHeat(supplier: string, heat: string, to: string, { nodes, edges }: Drawn): void {
  const id = `h ${heatKey(supplier, heat)}`;
  nodes.set(id, { id, title: heat, lines: [GENEALOGY.heat(supplier)] });
  edges.push({ from: id, to });
}

/** Of which heats it consists, the largest first. */
function heatLines(facts: Facts, shares: readonly PowderShare[]): string[] {
  const all = heatTexts(heatShares(facts, shares));
  const more = all.length - MOST_HEATS;
  return [...all.slice(0, MOST_HEATS), ...(more > 0 ? [GENEALOGY.moreHeats(more)] : [])];
}
