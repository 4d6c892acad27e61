import { CHART_WIDTH, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { drawTitle, fitText } from './frame.js';
import { ATTENTION, ATTENTION_LIGHT, CALM_LIGHT, DATA, MUTED } from './palette.js';

export interface GenealogyNode {
  readonly id: string;
  /** First line, in bold. */
  readonly title: string;
  /** Second line: kind, state, mass. */
  readonly detail: string;
  /** Something is open or wrong here; `detail` says what. */
  readonly attention?: boolean;
}

export interface Genealogy {
  readonly title: string;
  readonly nodes: readonly GenealogyNode[];
  /** From what went in to what came out. */
  readonly edges: readonly { readonly from: string; readonly to: string }[];
}

/** A thing, or a bend of a line that passes a column on its way. */
interface Placed {
  readonly id: string;
  readonly node: GenealogyNode | undefined;
  x: number;
  /** Row in its column at first, then the top of its row. */
  y: number;
}

interface Layered {
  readonly columns: Placed[][];
  /** Every edge as the places it runs through, from column to column. */
  readonly routes: readonly (readonly Placed[])[];
}

const NODE_HEIGHT = 26;
const ROW = 36;
const WIDEST_NODE = 150;
const SHORTEST_EDGE = 26;
const LONGEST_EDGE = 80;
const ORDERING_SWEEPS = 4;

/**
 * What went into what, from left to right: every thing stands one column after the last of its ingredients. Made for
 * the few dozen things behind one lot.
 */
export function genealogy(graph: Genealogy, metric: TextMetric): Scene {
  const builder = new SceneBuilder(metric);
  const top = drawTitle(builder, graph.title) + 6;
  const { columns, routes } = arrange(graph);
  const widths = columns.map((column) =>
    Math.min(WIDEST_NODE, Math.max(...column.map(({ node }) => (node ? nodeWidth(builder, node) : 0)))),
  );
  const used = widths.reduce((sum, width) => sum + width, 0);
  const free = (CHART_WIDTH - used) / Math.max(1, columns.length - 1);
  const gap = Math.max(SHORTEST_EDGE, Math.min(LONGEST_EDGE, free));
  const tallest = Math.max(1, ...columns.map((column) => column.length));
  place(columns, widths, gap, top, tallest);

  const widthOf = new Map(columns.flatMap((column, index) => column.map((placed) => [placed, widths[index]!])));
  for (const route of routes) drawRoute(builder, route, widthOf);
  for (const [placed, width] of widthOf) {
    if (placed.node) drawNode(builder, placed.node, placed, width);
  }
  const width = Math.max(CHART_WIDTH, used + gap * (columns.length - 1) + 2);
  return builder.finish(width, top + tallest * ROW + 2);
}

function nodeWidth(builder: SceneBuilder, { title, detail }: GenealogyNode): number {
  return Math.max(builder.textWidth(title, 8, true), builder.textWidth(detail, 7)) + 12;
}

function arrange(graph: Genealogy): Layered {
  const layers = layersOf(graph);
  const columns: Placed[][] = [];
  const add = (id: string, layer: number, node?: GenealogyNode): Placed => {
    while (columns.length <= layer) columns.push([]);
    const placed = { id, node, x: 0, y: columns[layer]!.length };
    columns[layer]!.push(placed);
    return placed;
  };
  const nodes = new Map(graph.nodes.map((node) => [node.id, add(node.id, layers.get(node.id)!, node)]));
  const routes = graph.edges.map(({ from, to }) => {
    const bends: Placed[] = [];
    for (let layer = layers.get(from)! + 1; layer < layers.get(to)!; layer++) bends.push(add(`${from} ${to}`, layer));
    return [nodes.get(from)!, ...bends, nodes.get(to)!];
  });
  for (let sweep = 0; sweep < ORDERING_SWEEPS; sweep++) sortByNeighbours(columns, routes, sweep % 2 === 0);
  return { columns, routes };
}

/** Column of every node: one more than the last of its ingredients. An arrow that closes a circle moves nothing. */
function layersOf({ nodes, edges }: Genealogy): Map<string, number> {
  const ingredients = new Map<string, string[]>(nodes.map((node) => [node.id, []]));
  for (const { from, to } of edges) {
    const unknown = [from, to].find((id) => !ingredients.has(id));
    if (unknown !== undefined) throw new RangeError(`an edge of the genealogy names "${unknown}", which is no node`);
    ingredients.get(to)!.push(from);
  }
  const layers = new Map<string, number>();
  const open = new Set<string>();
  const layerOf = (id: string): number => {
    const known = layers.get(id);
    if (known !== undefined) return known;
    open.add(id);
    const before = ingredients.get(id)!.filter((from) => !open.has(from));
    const layer = Math.max(-1, ...before.map(layerOf)) + 1;
    open.delete(id);
    layers.set(id, layer);
    return layer;
  };
  for (const { id } of nodes) layerOf(id);
  return layers;
}

/** Sorts each column by the mean row of its neighbours on one side, which keeps lines from crossing. */
function sortByNeighbours(columns: Placed[][], routes: Layered['routes'], fromLeft: boolean): void {
  for (const column of fromLeft ? columns : [...columns].reverse()) {
    const wish = new Map(column.map((placed) => [placed, wishedRow(placed, routes, fromLeft)]));
    column.sort((a, b) => wish.get(a)! - wish.get(b)!);
    column.forEach((placed, row) => {
      placed.y = row;
    });
  }
}

function wishedRow(placed: Placed, routes: Layered['routes'], fromLeft: boolean): number {
  const neighbours = routes.flatMap((route) => {
    const at = route.indexOf(placed);
    const neighbour = at < 0 ? undefined : route[fromLeft ? at - 1 : at + 1];
    return neighbour ? [neighbour.y] : [];
  });
  if (neighbours.length === 0) return placed.y;
  return neighbours.reduce((sum, row) => sum + row, 0) / neighbours.length;
}

function place(columns: Placed[][], widths: readonly number[], gap: number, top: number, tallest: number): void {
  let x = 1;
  columns.forEach((column, index) => {
    const inset = ((tallest - column.length) * ROW) / 2;
    column.forEach((placed, row) => {
      placed.x = x;
      placed.y = top + inset + row * ROW + (ROW - NODE_HEIGHT) / 2;
    });
    x += widths[index]! + gap;
  });
}

function drawNode(builder: SceneBuilder, node: GenealogyNode, { x, y }: Placed, width: number): void {
  const paint = node.attention
    ? { fill: ATTENTION_LIGHT, stroke: ATTENTION, strokeWidth: 1.6 }
    : { fill: CALM_LIGHT, stroke: DATA, strokeWidth: 0.7 };
  builder.rect(x, y, width, NODE_HEIGHT, paint);
  builder.text(x + 6, y + 11, fitText(builder, node.title, width - 10, 8, true), { bold: true });
  builder.text(x + 6, y + 20.5, fitText(builder, node.detail, width - 10, 7), { size: 7 });
}

/**
 * From the right side of each place to the left side of the next, level past the columns between, to an arrow. What
 * closes a circle runs the other way, from left side to right side.
 */
function drawRoute(builder: SceneBuilder, route: readonly Placed[], widthOf: ReadonlyMap<Placed, number>): void {
  const paint = { stroke: MUTED, strokeWidth: 0.9 };
  const level = (placed: Placed) => placed.y + NODE_HEIGHT / 2;
  for (const [index, target] of route.slice(1).entries()) {
    const source = route[index]!;
    const onward = target.x > source.x ? 1 : -1;
    const from = { x: source.x + (onward > 0 ? widthOf.get(source)! : 0), y: level(source) };
    const to = { x: target.x + (onward > 0 ? 0 : widthOf.get(target)!), y: level(target) };
    if (target.node === undefined) {
      builder.sweep(from, to, paint);
      builder.line(to.x, to.y, to.x + widthOf.get(target)!, to.y, paint);
    } else {
      const tip = { x: to.x - 0.5 * onward, y: to.y };
      const base = tip.x - 5 * onward;
      builder.sweep(from, { x: tip.x - 4 * onward, y: tip.y }, paint);
      builder.polygon([tip, { x: base, y: tip.y - 2.5 }, { x: base, y: tip.y + 2.5 }], { fill: MUTED });
    }
  }
}
