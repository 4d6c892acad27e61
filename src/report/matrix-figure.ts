import type { Scene } from '../base/scene.js';
import type { Gap } from '../design-history/find-gaps.js';
import type { BackRow } from '../design-history/trace-back.js';
import type { TraceRow } from '../design-history/trace-matrix.js';
import { textMetric } from '../pdf/shaping.js';
import { genealogy } from './charts/genealogy.js';
import type { GenealogyEdge, GenealogyNode } from './charts/genealogy-layout.js';
import type { LotFigure } from './lot-figure.js';
import { designEntryAddress, lotAddress } from './page-addresses.js';
import { MATRIX_FIGURE as WORDS } from './phrases/figures/matrix.js';

/** So many things are drawn; the tables beside the pictures have all. */
const MOST_NODES = 60;
/** Further lots of a study are counted. */
const MOST_LOTS = 8;
/** A taller picture would be made smaller to fit its page, down to words that nobody can read. */
const TALLEST = 600;

type GapAt = Pick<Gap, 'state' | 'subjects'>;

interface Drawing {
  readonly nodes: ReadonlyMap<string, GenealogyNode>;
  readonly edges: ReadonlyMap<string, GenealogyEdge>;
}

interface Growing {
  readonly nodes: Map<string, GenealogyNode>;
  readonly edges: Map<string, GenealogyEdge>;
}

/** What a way is drawn with. */
interface Seen {
  readonly family: string;
  readonly studies: ReadonlyMap<string, BackRow>;
  /** Names of entries with an open gap. */
  readonly open: ReadonlySet<string>;
}

interface Picture extends Drawing {
  readonly scenes: readonly Scene[];
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
  const seen: Seen = { family, open, studies: new Map(back.map((row) => [row.study, row])) };
  const shown = rowsWithin(rows, seen);
  const pictures: Picture[] = [];
  for (let from = 0; from < shown; ) {
    const of = (count: number) => pictured(family, pictures.length, drawingOf(rows.slice(from, from + count), seen));
    const { count, picture } = mostThatFit(shown - from, of);
    pictures.push(picture);
    from += count;
  }
  return pictures.flatMap((picture, index) =>
    picture.scenes.map((scene, page) => ({
      ...{ scene, alt: altOf(picture) },
      caption: index + page === 0 ? WORDS.caption(shown, rows.length) : WORDS.further,
    })),
  );
}

/** How many whole ways are drawn before there are too many things. */
function rowsWithin(rows: readonly TraceRow[], seen: Seen): number {
  const drawing: Growing = { nodes: new Map(), edges: new Map() };
  let shown = 0;
  for (const row of rows) {
    if (drawing.nodes.size >= MOST_NODES) break;
    addRow(drawing, row, seen);
    shown += 1;
  }
  return shown;
}

/**
 * The picture of as many ways as fit a page, or of the first alone. Laying out costs most, so all are tried first, and then by
 * halves.
 */
function mostThatFit(
  most: number,
  of: (count: number) => Picture,
): { readonly count: number; readonly picture: Picture } {
  const fits = ({ scenes }: Picture) => scenes.every(({ height }) => height <= TALLEST);
  const all = of(most);
  if (most === 1 || fits(all)) return { count: most, picture: all };
  let found = { count: 1, picture: of(1) };
  let beyond = most;
  while (beyond - found.count > 1) {
    const count = (found.count + beyond) >> 1;
    const picture = of(count);
    if (fits(picture)) found = { count, picture };
    else beyond = count;
  }
  return found;
}

function drawingOf(rows: readonly TraceRow[], seen: Seen): Drawing {
  const drawing: Growing = { nodes: new Map(), edges: new Map() };
  for (const row of rows) addRow(drawing, row, seen);
  return drawing;
}

function pictured(family: string, index: number, drawing: Drawing): Picture {
  const [nodes, edges] = [[...drawing.nodes.values()], [...drawing.edges.values()]];
  const continued = WORDS.continued(family);
  const title = index === 0 ? WORDS.title(family) : continued;
  return { ...drawing, scenes: genealogy({ title, continued, nodes, edges }, textMetric) };
}

function altOf({ nodes, edges }: Drawing): string {
  const titleOf = (id: string) => nodes.get(id)!.title;
  return WORDS.alt(
    [...nodes.values()].map(({ title, lines }) => WORDS.node(title, lines)),
    [...edges.values()].map(({ from, to }) => WORDS.arrow(titleOf(from), titleOf(to))),
  );
}

/** Draws one way more. */
function addRow(
  { nodes, edges }: Growing,
  { need, input, output, verifiedBy, validatedBy, controls }: TraceRow,
  { family, studies, open }: Seen,
): void {
  const hrefOf = (kind: string, key: string): string =>
    kind === 'lot'
      ? lotAddress(key)
      : designEntryAddress(family, { kind: kind === 'further-lots' ? 'design-study' : kind, key });
  const place = (kind: string, key: string, says: string, title = key): string => {
    const id = `${kind} ${key}`;
    if (nodes.has(id)) return id;
    const isOpen = open.has(id);
    const lines = isOpen ? [says, WORDS.openGap] : [says];
    nodes.set(id, { id, title, lines, attention: isOpen, href: hrefOf(kind, key) });
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
    const lots = known?.lots ?? [];
    for (const lot of lots.slice(0, MOST_LOTS)) tie(id, place('lot', lot, WORDS.lot));
    const more = lots.length - MOST_LOTS;
    if (more > 0) tie(id, place('further-lots', key, WORDS.ofStudy(key), WORDS.moreLots(more)));
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
  for (const key of controls) {
    const id = place('risk-control', key, WORDS.control);
    if (verifiedBy.some((code) => studies.get(code)?.controls.includes(key))) continue;
    // No study here verifies it: a characteristic of the input carries it.
    if (input !== null) tie(`design-input ${input}`, id);
  }
}
