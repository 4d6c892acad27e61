import { Graph } from '@dagrejs/graphlib';
import type { DesignFacts, DesignRevision } from '../../src/design-history/design-facts.js';
import { DesignIndex } from '../../src/design-history/design-index.js';
import { findGaps } from '../../src/design-history/find-gaps.js';
import { traceMatrix } from '../../src/design-history/trace-matrix.js';
import { SIMULATION } from '../../src/kinds/degradation/simulation.js';

/**
 * Rules on what hangs together, against a general graph library (@dagrejs/graphlib): the same random design becomes edges of
 * a plain graph, which is asked node by node.
 */

const KINDS = ['user-need', 'design-input', 'design-output', 'design-study', 'hazard', 'risk-control'] as const;
type Kind = (typeof KINDS)[number];

/** mulberry32: the same numbers on every machine. */
function numbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/** Which ties each kind has: field of the document, kind that it leads to, and the field that holds its code. */
const TIES: Readonly<Record<Kind, readonly (readonly [field: string, to: Kind, code: string])[]>> = {
  'user-need': [],
  'design-input': [['meets', 'user-need', 'need']],
  'design-output': [['meets', 'design-input', 'input']],
  'design-study': [
    ['verifies', 'design-input', 'input'],
    ['verifies', 'design-output', 'output'],
    ['validates', 'user-need', 'need'],
  ],
  hazard: [],
  'risk-control': [
    ['controls', 'hazard', 'hazard'],
    ['verifiedBy', 'design-study', 'designStudy'],
  ],
};

function randomDesign(seed: number) {
  const next = numbers(seed);
  const upTo = (most: number) => Math.floor(next() * most);
  const graph = new Graph<object, { kind: Kind; result: string }, { field: string; pinned: number }>({
    multigraph: true,
  });
  const latest = new Map<string, number>();
  const counts = new Map(KINDS.map((kind) => [kind, upTo(9)]));
  const all = KINDS.flatMap((kind) =>
    Array.from({ length: counts.get(kind)! }, (_, n) => ({ kind, key: `${kind}-${n}` })),
  );
  for (const { key } of all) latest.set(key, 1 + upTo(2));
  const revisions = all.flatMap(({ kind, key }) =>
    Array.from({ length: latest.get(key)! }, (_, index): DesignRevision => {
      const revision = index + 1;
      const isLatest = revision === latest.get(key);
      const result = ['met', 'not met', 'open'][upTo(3)]!;
      if (isLatest) graph.setNode(key, { kind, result });
      const lists: Record<string, object[]> = {};
      for (const [field, to, code] of TIES[kind]) {
        for (let n = 0; n < counts.get(to)!; n++) {
          if (next() > 0.25) continue;
          const target = `${to}-${n}`;
          const pinned = 1 + upTo(latest.get(target)!);
          lists[field] = [...(lists[field] ?? []), { [code]: target, revision: pinned }];
          if (isLatest) graph.setEdge(key, target, { field, pinned }, `${field} ${pinned}`);
        }
      }
      const body = {
        family: 'PLATE',
        what: { kind: 'drawing', key: 'D' },
        controls: [],
        criterion: {},
        result,
        ...lists,
      };
      const protocol = { approvedAt: '2030-01-01T00:00:00Z' };
      return {
        ...{ kind, key, revision, name: key, digest: '', recordedAt: '2030-01-01T00:00:00Z' },
        body: { ...body, protocol, from: '2030-02-01', rationale: 'long\nenough', report: { file: 'r' } },
        ...{ authors: [], approvedBy: 'P-QE', approvedAt: null, withdrawn: false },
      };
    }),
  );
  const facts: DesignFacts = {
    ...{ family: 'PLATE', today: '2031-01-01', revisions, lots: new Map(), statements: [], lotOfPart: new Map() },
    simulation: SIMULATION,
  };
  return { facts, graph, latest };
}

type Design = ReturnType<typeof randomDesign>;

/** What each rule has to find, asked of the graph node by node. */
function byBruteForce({ graph, latest }: Design): string[] {
  const found: string[] = [];
  const kindOf = (key: string): Kind => graph.node(key).kind;
  const from = (key: string, kind: Kind, field: string) =>
    (graph.inEdges(key) ?? [])
      .filter(({ v, name }) => kindOf(v) === kind && name!.startsWith(`${field} `))
      .map(({ v }) => v);
  const met = (studies: readonly string[]) => studies.some((study) => graph.node(study).result === 'met');
  for (const key of graph.nodes()) {
    const kind = kindOf(key);
    const say = (rule: string) => found.push(`${rule} ${key}`);
    const outward = graph.outEdges(key) ?? [];
    if (kind === 'user-need') {
      if (from(key, 'design-input', 'meets').length === 0) say('need-without-input');
      if (!met(from(key, 'design-study', 'validates'))) say('need-not-validated');
    }
    if (kind === 'design-input') {
      const outputs = from(key, 'design-output', 'meets');
      if (outputs.length === 0) say('input-without-output');
      const studies = [key, ...outputs].flatMap((one) => from(one, 'design-study', 'verifies'));
      if (!met(studies)) say('input-not-verified');
    }
    if (kind === 'design-output' && outward.length === 0) say('output-unasked');
    if (kind === 'design-study' && graph.node(key).result === 'not met') say('study-not-met');
    if (kind === 'hazard' && from(key, 'risk-control', 'controls').length === 0) say('hazard-without-control');
    if (
      kind === 'risk-control' &&
      !met(outward.filter(({ name }) => name!.startsWith('verifiedBy')).map(({ w }) => w))
    ) {
      say('control-not-verified');
    }
    for (const edge of outward) {
      if (graph.edge(edge).pinned < latest.get(edge.w)!) {
        say(kind === 'design-study' ? 'study-superseded' : 'tie-superseded');
      }
    }
  }
  return found.sort();
}

const SEEDS = Array.from({ length: 120 }, (_, n) => 7000 + n);

it('finds on random designs exactly what a walk over a plain graph finds', () => {
  let told = 0;
  for (const seed of SEEDS) {
    const design = randomDesign(seed);
    const gaps = findGaps(design.facts).filter(({ rule }) => rule !== 'plan-missing' && rule !== 'history-missing');
    const found = gaps.map(({ rule, subjects }) => `${rule} ${subjects[0]!.key}`).sort();
    expect(found, `seed ${seed}`).toEqual(byBruteForce(design));
    told += found.length;
  }
  expect(told).toBeGreaterThan(1000);
});

it('has every need, input and output in its matrix, and only ties of the design', () => {
  for (const seed of SEEDS.slice(0, 40)) {
    const { facts, graph } = randomDesign(seed);
    const rows = traceMatrix(new DesignIndex(facts));
    const ofKind = (kind: Kind) =>
      graph
        .nodes()
        .filter((key) => graph.node(key).kind === kind)
        .sort();
    const inColumn = (column: 'need' | 'input' | 'output') =>
      [...new Set(rows.flatMap((row) => row[column] ?? []))].sort();
    expect(inColumn('need')).toEqual(ofKind('user-need'));
    expect(inColumn('input')).toEqual(ofKind('design-input'));
    expect(inColumn('output')).toEqual(ofKind('design-output'));
    expect([...new Set(rows.flatMap(({ controls }) => controls))].sort()).toEqual(ofKind('risk-control'));
    for (const { need, input, output } of rows) {
      if (need !== null && input !== null) expect(graph.successors(input)).toContain(need);
      if (input !== null && output !== null) expect(graph.successors(output)).toContain(input);
    }
  }
});
