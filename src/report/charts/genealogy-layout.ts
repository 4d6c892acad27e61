/** Where the things of a graph stand: in columns from what went in to what came out, cut into bands that fit the width. */

export interface GenealogyNode {
  readonly id: string;
  /** First line, in bold. */
  readonly title: string;
  /** Further lines: what it is, its mass, of what it consists. */
  readonly lines: readonly string[];
  /** Something is open or wrong here; one of the lines says what. */
  readonly attention?: boolean;
  /** Page to which its box leads, where the drawing is part of a page. */
  readonly href?: string;
}

export interface GenealogyEdge {
  readonly from: string;
  readonly to: string;
  /** What went over, such as its mass. */
  readonly label?: string;
}

/** A thing, a thing of an earlier band told again, or a bend of a line that passes a column on its way. */
export interface Placed {
  readonly node: GenealogyNode | undefined;
  readonly isAgain: boolean;
  readonly width: number;
  readonly height: number;
  x: number;
  y: number;
}

/** An edge as the places that it runs through, from column to column. */
export interface Route {
  readonly places: readonly Placed[];
  readonly label: string | undefined;
}

export interface Band {
  readonly columns: readonly (readonly Placed[])[];
  readonly routes: readonly Route[];
  readonly width: number;
  readonly height: number;
}

/** What is measured of a thing, and of the label of an edge. */
export interface Sizes {
  node(node: GenealogyNode, entries: number): { readonly width: number; readonly height: number };
  again(node: GenealogyNode): { readonly width: number; readonly height: number };
  label(text: string): number;
}

const ROW_GAP = 10;
const BEND_HEIGHT = 12;
const SHORTEST_EDGE = 26;
const LONGEST_EDGE = 80;
/** Room of a label beside the arrow and the bow before it. */
const BESIDE_LABEL = 20;
const ORDERING_SWEEPS = 4;

/** The bands of a graph, from its first ingredients on; each edge stands in the band of the thing that it leads to. */
export function bandsOf(
  nodes: readonly GenealogyNode[],
  edges: readonly GenealogyEdge[],
  sizes: Sizes,
  width: number,
): Band[] {
  const layers = layersOf(nodes, edges);
  const last = Math.max(-1, ...layers.values());
  const bands: Band[] = [];
  for (let from = 0; from <= last; ) {
    let to = from;
    let band = bandOf(from, to, nodes, edges, layers, sizes, width);
    while (to < last) {
      const wider = bandOf(from, to + 1, nodes, edges, layers, sizes, width);
      if (wider.width > width) break;
      band = wider;
      to += 1;
    }
    bands.push(band);
    from = to + 1;
  }
  return bands;
}

/**
 * Column of every node: behind all its ingredients, and as near as may be to the first thing that it went into. An arrow
 * that closes a circle moves nothing.
 */
function layersOf(nodes: readonly GenealogyNode[], edges: readonly GenealogyEdge[]): Map<string, number> {
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
  const results = new Map<string, string[]>();
  for (const { from, to } of edges) results.set(from, [...(results.get(from) ?? []), to]);
  for (const [id, layer] of [...layers].sort(([, a], [, b]) => b - a)) {
    const after = (results.get(id) ?? []).map((to) => layers.get(to)!).filter((other) => other > layer);
    if (after.length > 0) layers.set(id, Math.min(...after) - 1);
  }
  return layers;
}

function bandOf(
  from: number,
  to: number,
  nodes: readonly GenealogyNode[],
  edges: readonly GenealogyEdge[],
  layers: ReadonlyMap<string, number>,
  sizes: Sizes,
  width: number,
): Band {
  const isIn = (id: string) => layers.get(id)! >= from && layers.get(id)! <= to;
  const own = edges.filter((edge) => isIn(edge.to));
  const again = nodes.filter(({ id }) => !isIn(id) && own.some((edge) => edge.from === id));
  const shift = again.length > 0 ? 1 : 0;
  const columns: Placed[][] = Array.from({ length: to - from + 1 + shift }, () => []);
  const add = (column: number, placed: Omit<Placed, 'x' | 'y'>): Placed => {
    const at = { ...placed, x: 0, y: columns[column]!.length };
    columns[column]!.push(at);
    return at;
  };
  const placed = new Map<string, { at: Placed; column: number }>();
  for (const node of again) {
    placed.set(node.id, { at: add(0, { node, isAgain: true, ...sizes.again(node) }), column: 0 });
  }
  for (const node of nodes.filter(({ id }) => isIn(id))) {
    const column = layers.get(node.id)! - from + shift;
    const entries = own.filter((edge) => edge.to === node.id).length;
    placed.set(node.id, { at: add(column, { node, isAgain: false, ...sizes.node(node, entries) }), column });
  }
  const routes = own.map((edge): Route => {
    const [source, target] = [placed.get(edge.from)!, placed.get(edge.to)!];
    const bends: Placed[] = [];
    for (let column = source.column + 1; column < target.column; column++) {
      bends.push(add(column, { node: undefined, isAgain: false, width: 0, height: BEND_HEIGHT }));
    }
    return { places: [source.at, ...bends, target.at], label: edge.label };
  });
  for (let sweep = 0; sweep < ORDERING_SWEEPS; sweep++) sortByNeighbours(columns, routes, sweep % 2 === 0);
  return { columns, routes, ...place(columns, routes, sizes, width) };
}

/** Sorts each column by the mean row of its neighbours on one side, which keeps lines from crossing. */
function sortByNeighbours(columns: Placed[][], routes: readonly Route[], fromLeft: boolean): void {
  for (const column of fromLeft ? columns : [...columns].reverse()) {
    const wish = new Map(column.map((placed) => [placed, wishedRow(placed, routes, fromLeft)]));
    column.sort((a, b) => wish.get(a)! - wish.get(b)!);
    column.forEach((placed, row) => {
      placed.y = row;
    });
  }
}

function wishedRow(placed: Placed, routes: readonly Route[], fromLeft: boolean): number {
  const neighbours = routes.flatMap(({ places }) => {
    const at = places.indexOf(placed);
    const neighbour = at < 0 ? undefined : places[fromLeft ? at - 1 : at + 1];
    return neighbour ? [neighbour.y] : [];
  });
  if (neighbours.length === 0) return placed.y;
  return neighbours.reduce((sum, row) => sum + row, 0) / neighbours.length;
}

const heightOf = (column: readonly Placed[]): number =>
  column.reduce((sum, { height }) => sum + height + ROW_GAP, -ROW_GAP);

/** Turns rows into places; each column is centred, and each gap is as wide as its widest label asks. */
function place(
  columns: readonly Placed[][],
  routes: readonly Route[],
  sizes: Sizes,
  width: number,
): { width: number; height: number } {
  const widths = columns.map((column) => Math.max(0, ...column.map((placed) => placed.width)));
  const least = columns.map((column, index) => {
    if (index === 0) return 0;
    const labels = routes.flatMap(({ places, label }) =>
      label !== undefined && column.includes(places.at(-1)!) ? [sizes.label(label) + BESIDE_LABEL] : [],
    );
    return Math.max(SHORTEST_EDGE, ...labels);
  });
  const used = [...widths, ...least].reduce((sum, part) => sum + part, 0);
  const more = Math.max(0, width - used - 2) / Math.max(1, columns.length - 1);
  const height = Math.max(0, ...columns.map(heightOf));
  let x = 1;
  columns.forEach((column, index) => {
    const gap = least[index]!;
    if (index > 0) x += gap + Math.min(more, Math.max(0, LONGEST_EDGE - gap));
    let y = (height - heightOf(column)) / 2;
    for (const placed of column) {
      placed.x = x;
      placed.y = y;
      y += placed.height + ROW_GAP;
    }
    x += widths[index]!;
  });
  return { width: used + 2, height };
}
