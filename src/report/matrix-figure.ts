import type { Gap } from '../design-history/find-gaps.js';
import type { BackRow } from '../design-history/trace-back.js';
import type { TraceRow } from '../design-history/trace-matrix.js';
import { textMetric } from '../pdf/shaping.js';
import { genealogy } from './charts/genealogy.js';
import type { GenealogyEdge, GenealogyNode } from './charts/genealogy-layout.js';
import type { LotFigure } from './lot-figure.js';
import { MATRIX_FIGURE as WORDS } from './phrases/figures/matrix.js';

/** So many things are drawn; the tables beside the picture have all. */
const MOST_NODES = 60;

type GapAt = Pick<Gap, 'state' | 'subjects'>;

interface Drawing {
  readonly nodes: Map<string, GenealogyNode>;
  readonly edges: Map<string, GenealogyEdge>;
}

/**
 * The trace matrix as a graph, both ways: need, input, output, study, and behind it risk controls and lots.
 * @param rows ways of the matrix; whole ways are drawn, in their order, as far as there is room.
 * @param gaps those that nobody answered are marked at their entries.
 * @returns one picture, several where it does not fit a page, none where nothing is written down.
 */
export function matrixFigures(
  family: string,
  rows: readonly TraceRow[],
  back: readonly BackRow[],
  gaps: readonly GapAt[],
): LotFigure[] {
  const open = new Set(
    gaps
      .filter(({ state }) => state !== 'answered')
      .flatMap(({ subjects }) => subjects.map(({ kind, key }) => `${kind} ${key}`)),
  );
  const studies = new Map(back.map((row) => [row.study, row]));
  const drawing: Drawing = { nodes: new Map(), edges: new Map() };
  let drawn = 0;
  for (const row of rows) {
    if (drawing.nodes.size >= MOST_NODES) break;
    drawRow(drawing, row, studies, open);
    drawn += 1;
  }
  const nodes = [...drawing.nodes.values()];
  if (nodes.length === 0) return [];
  const edges = [...drawing.edges.values()];
  const titleOf = (id: string) => drawing.nodes.get(id)!.title;
  const alt = WORDS.alt(
    nodes.map(({ title, lines }) => WORDS.node(title, lines)),
    edges.map(({ from, to }) => WORDS.arrow(titleOf(from), titleOf(to))),
  );
  const caption = WORDS.caption(drawn, rows.length);
  const { title, continued } = WORDS;
  return genealogy({ title: title(family), continued: continued(family), nodes, edges }, textMetric).map((scene) => ({
    ...{ scene, alt, caption },
  }));
}

function drawRow(
  { nodes, edges }: Drawing,
  { need, input, output, verifiedBy, validatedBy, controls }: TraceRow,
  studies: ReadonlyMap<string, BackRow>,
  open: ReadonlySet<string>,
): void {
  const place = (kind: string, key: string, says: string): string => {
    const id = `${kind} ${key}`;
    if (nodes.has(id)) return id;
    const isOpen = open.has(id);
    nodes.set(id, { id, title: key, lines: isOpen ? [says, WORDS.openGap] : [says], attention: isOpen });
    return id;
  };
  const tie = (from: string, to: string, label?: string) => {
    const name = `${from}\u0000${to}`;
    if (!edges.has(name)) edges.set(name, label === undefined ? { from, to } : { from, to, label });
  };
  const chain = [
    ...(need === null ? [] : [place('user-need', need, WORDS.need)]),
    ...(input === null ? [] : [place('design-input', input, WORDS.input)]),
    ...(output === null ? [] : [place('design-output', output, WORDS.output)]),
  ];
  chain.slice(1).forEach((id, index) => {
    tie(chain[index]!, id);
  });
  const study = (key: string): string => {
    const known = studies.get(key);
    const id = place('design-study', key, known === undefined ? WORDS.study : WORDS.result(known.result));
    for (const lot of known?.lots ?? []) tie(id, place('lot', lot, WORDS.lot));
    for (const control of known?.controls ?? []) tie(id, place('risk-control', control, WORDS.control));
    return id;
  };
  const last = chain.at(-1);
  for (const key of verifiedBy) {
    const id = study(key);
    if (last !== undefined) tie(last, id);
  }
  for (const key of validatedBy) {
    const id = study(key);
    // One that verifies what answers the need says so by its own arrow.
    if (need !== null && !verifiedBy.includes(key)) tie(`user-need ${need}`, id, WORDS.validates);
  }
  for (const key of controls) place('risk-control', key, WORDS.control);
}
