import { CHART_WIDTH, type Point, type Scene, SceneBuilder, type TextMetric } from '../../base/scene.js';
import { drawTitle, fitText } from './frame.js';
import {
  type Band,
  bandsOf,
  type GenealogyEdge,
  type GenealogyNode,
  type Placed,
  type Route,
} from './genealogy-layout.js';
import { ATTENTION, ATTENTION_LIGHT, CALM_LIGHT, DATA, MUTED, PAPER } from './palette.js';

export interface Genealogy {
  readonly title: string;
  /** Title of each further picture. */
  readonly continued: string;
  readonly nodes: readonly GenealogyNode[];
  /** From what went in to what came out. */
  readonly edges: readonly GenealogyEdge[];
}

const WIDEST_NODE = 150;
const LINE = 9;
/** Room of a bold title with its margins. */
const HEAD = 17;
/** So far from each other arrows end at one thing, each with its label above it. */
const ENTRY = 10;
const BAND_GAP = 16;
/** No picture is taller than this: it fits a page together with its caption. */
const TALLEST = 560;
const LABEL = 6.5;

/**
 * What went into what, from left to right: every thing stands behind its ingredients, just before what it went into first. What is too
 * wide goes on below, and there names again, dashed, what it takes from above.
 * @returns one picture, or as many as the bands of the graph fill.
 */
export function genealogy(graph: Genealogy, metric: TextMetric): Scene[] {
  const measure = new SceneBuilder(metric);
  const bands = bandsOf(
    graph.nodes,
    graph.edges,
    {
      node: (node, entries) => ({
        width: Math.min(WIDEST_NODE, nodeWidth(measure, node)),
        height: Math.max(HEAD + LINE * node.lines.length, ENTRY * (entries + 1)),
      }),
      again: ({ title }) => ({ width: measure.textWidth(title, 7) + 10, height: 15 }),
      label: (text) => measure.textWidth(text, LABEL),
    },
    CHART_WIDTH,
  );
  return pagesOf(bands).map((own, index) => {
    const builder = new SceneBuilder(metric);
    const top = drawTitle(builder, index === 0 ? graph.title : graph.continued) + 6;
    let y = top;
    for (const band of own) {
      drawBand(builder, band, y);
      y += band.height + BAND_GAP;
    }
    const width = Math.max(CHART_WIDTH, ...own.map((band) => band.width));
    return builder.finish(width, own.length === 0 ? top : y - BAND_GAP + 2);
  });
}

/** Bands below each other, as many as one picture holds. */
function pagesOf(bands: readonly Band[]): Band[][] {
  const pages: Band[][] = [[]];
  let height = 0;
  for (const band of bands) {
    const own = pages.at(-1)!;
    if (own.length > 0 && height + band.height > TALLEST) {
      pages.push([band]);
      height = band.height + BAND_GAP;
    } else {
      own.push(band);
      height += band.height + BAND_GAP;
    }
  }
  return pages;
}

function nodeWidth(builder: SceneBuilder, { title, lines }: GenealogyNode): number {
  return Math.max(builder.textWidth(title, 8, true), ...lines.map((line) => builder.textWidth(line, 7))) + 12;
}

function drawBand(builder: SceneBuilder, { columns, routes }: Band, top: number): void {
  for (const placed of columns.flat()) placed.y += top;
  const entries = new Map<Placed, Route[]>();
  for (const route of routes) {
    const target = route.places.at(-1)!;
    entries.set(target, [...(entries.get(target) ?? []), route]);
  }
  for (const [target, own] of entries) {
    const from = ({ places }: Route) => middleOf(places.at(-2)!);
    const sorted = [...own].sort((a, b) => from(a) - from(b));
    sorted.forEach((route, index) => {
      drawRoute(builder, route, target.y + (target.height * (index + 1)) / (sorted.length + 1), columns);
    });
  }
  for (const placed of columns.flat()) if (placed.node) drawNode(builder, placed.node, placed);
}

function drawNode(builder: SceneBuilder, node: GenealogyNode, { x, y, width, height, isAgain }: Placed): void {
  if (isAgain) {
    builder.rect(x, y, width, height, { fill: PAPER, stroke: MUTED, strokeWidth: 0.7, dash: [3, 2] });
    builder.text(x + 5, y + 10, node.title, { size: 7 });
    return;
  }
  const paint = node.attention
    ? { fill: ATTENTION_LIGHT, stroke: ATTENTION, strokeWidth: 1.6 }
    : { fill: CALM_LIGHT, stroke: DATA, strokeWidth: 0.7 };
  if (node.href === undefined) builder.rect(x, y, width, height, paint);
  else {
    const corners = [
      { x, y },
      { x: x + width, y },
      { x: x + width, y: y + height },
      { x, y: y + height },
    ];
    const label = [node.title, ...node.lines].join(', ');
    builder.polygon(corners, paint, { to: node.href, label, x: x + width / 2, y: y + height / 2, stops: true });
  }
  const text = y + (height - HEAD - LINE * node.lines.length) / 2;
  builder.text(x + 6, text + 11, fitText(builder, node.title, width - 10, 8, true), { bold: true });
  node.lines.forEach((line, index) => {
    builder.text(x + 6, text + 20.5 + LINE * index, fitText(builder, line, width - 10, 7), { size: 7 });
  });
}

const middleOf = ({ y, height }: Placed): number => y + height / 2;

/**
 * From the right side of each place to the left side of the next, level past the columns between, to an arrow with the
 * label above it. What closes a circle runs the other way, from left side to right side.
 */
function drawRoute(
  builder: SceneBuilder,
  { places, label }: Route,
  entry: number,
  columns: readonly (readonly Placed[])[],
): void {
  const paint = { stroke: MUTED, strokeWidth: 0.9 };
  const widthAt = (placed: Placed) =>
    Math.max(...columns.find((column) => column.includes(placed))!.map(({ width }) => width));
  for (const [index, target] of places.slice(1).entries()) {
    const source = places[index]!;
    const onward = target.x > source.x ? 1 : -1;
    const right = source.node ? source.width : widthAt(source);
    const from: Point = { x: source.x + (onward > 0 ? right : 0), y: middleOf(source) };
    const to: Point = { x: target.x + (onward > 0 ? 0 : target.width), y: target.node ? entry : middleOf(target) };
    if (target.node === undefined) {
      builder.sweep(from, to, paint);
      builder.line(to.x, to.y, to.x + widthAt(target), to.y, paint);
      continue;
    }
    const tip = { x: to.x - 0.5 * onward, y: to.y };
    const base = tip.x - 5 * onward;
    const before = label === undefined ? 4 : 8 + builder.textWidth(label, LABEL);
    const bow = { x: tip.x - before * onward, y: tip.y };
    builder.sweep(from, bow, paint);
    builder.polygon([tip, { x: base, y: tip.y - 2.5 }, { x: base, y: tip.y + 2.5 }], { fill: MUTED });
    if (label !== undefined) {
      builder.line(bow.x, bow.y, base, bow.y, paint);
      const anchor = onward > 0 ? 'end' : 'start';
      builder.text(base - onward, tip.y - 2, label, { size: LABEL, fill: MUTED, anchor });
    }
  }
}
