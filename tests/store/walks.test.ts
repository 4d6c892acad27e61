import { alg, Graph } from '@dagrejs/graphlib';
import { type Direction, TIES, type TieName } from '../../src/kinds/ties.js';
import type { NewLink } from '../../src/store/entries.js';
import type { Store } from '../../src/store/store.js';
import { narrowed } from '../../src/store/traces.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

/*
 * Walks over ties against a general graph library (@dagrejs/graphlib): the same ties become edges of a plain graph, whose
 * reachable nodes and shortest distances the library finds. A thing behind an ending tie is a node of its own without edges.
 */

const NAMES = Object.keys(TIES) as TieName[];

/** Whole numbers from 0, always the same: a linear congruential generator (Numerical Recipes, 2nd edition, 7.1, "ranqd1"). */
function sameNumbers(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * below);
  };
}

interface RandomTie {
  readonly from: number;
  readonly to: number;
  readonly name: TieName;
}

/** Loops and several ties between two things included. */
function randomTies(things: number, ties: number, seed: number): RandomTie[] {
  const below = sameNumbers(seed);
  return Array.from({ length: ties }, () => ({
    from: below(things),
    to: below(things),
    name: NAMES[below(NAMES.length)]!,
  }));
}

const key = (thing: number): string => `T${thing}`;

/** Every thing is recorded once, with all its ties; those that it names may come later. */
const record = (store: Store, things: number, ties: readonly RandomTie[]): Promise<void> =>
  store.change(ACTOR, async (change) => {
    for (let thing = 0; thing < things; thing += 1) {
      const links = ties
        .filter(({ from }) => from === thing)
        .map(({ to, name }): NewLink => ({ name, to: { kind: 'thing', key: key(to) } }));
      await change.entries.add({
        kind: 'thing',
        key: key(thing),
        name: '',
        body: { thing, links: links.length },
        links,
      });
    }
  });

const endOf = (node: string): string => `end of ${node}`;

function asGraph(things: number, ties: readonly RandomTie[], direction: Direction): Graph {
  const graph = new Graph();
  for (let thing = 0; thing < things; thing += 1) graph.setNode(key(thing));
  for (const { from, to, name } of ties) {
    const { leads, ends } = TIES[name] as (typeof TIES)[TieName] & { ends?: readonly Direction[] };
    const [near, far] = leads === direction ? [from, to] : [to, from];
    graph.setEdge(key(near), ends?.includes(direction) ? endOf(key(far)) : key(far));
  }
  return graph;
}

/** Each thing twice, before any use and behind one: what is no use is met on both sides, and a use out of the time on the far one alone. */
function asGraphOfUses(
  things: number,
  ties: readonly RandomTie[],
  direction: Direction,
  useOf: (thing: number) => boolean | undefined,
): Graph {
  const graph = new Graph();
  for (let thing = 0; thing < things; thing += 1) {
    graph.setNode(`before ${key(thing)}`);
    graph.setNode(`after ${key(thing)}`);
  }
  for (const { from, to, name } of ties) {
    const { leads, ends } = TIES[name] as (typeof TIES)[TieName] & { ends?: readonly Direction[] };
    const [near, far] = leads === direction ? [from, to] : [to, from];
    const edge = (start: string, end: string) => graph.setEdge(start, ends?.includes(direction) ? endOf(end) : end);
    edge(`after ${key(near)}`, `after ${key(far)}`);
    if (useOf(near) !== undefined) continue;
    if (useOf(far) === undefined) edge(`before ${key(near)}`, `before ${key(far)}`);
    else if (useOf(far)) edge(`before ${key(near)}`, `after ${key(far)}`);
  }
  return graph;
}

/** What the library reaches from a thing, with the least number of ties. */
function reachedIn(graph: Graph, start: string): Map<string, number> {
  const found = new Map<string, number>();
  for (const [node, { distance }] of Object.entries(alg.dijkstra(graph, start))) {
    if (!Number.isFinite(distance)) continue;
    const thing = node.replace(endOf(''), '');
    found.set(thing, Math.min(distance, found.get(thing) ?? Number.POSITIVE_INFINITY));
  }
  return found;
}

describe.each([
  [1, 12, 14],
  [2, 40, 60],
  [3, 60, 200],
])('a random graph, seed %d: %d things and %d ties', (seed, things, count) => {
  const { folder, remove } = temporaryFolder();
  const first = randomTies(things, count, seed);
  /** Each thing gets a second revision with other ties. */
  const second = randomTies(things, count, seed + 1000);
  let store: Store;
  let sizeOfFirst: number;

  beforeAll(async () => {
    store = await openStore(folder);
    await record(store, things, first);
    sizeOfFirst = await store.read.ledger.size();
    await record(store, things, second);
  });
  afterAll(async () => {
    await store.close();
    remove();
  });

  it.each([
    ['back', 'now'],
    ['forward', 'now'],
    ['back', 'as of its first revisions'],
    ['forward', 'as of its first revisions'],
  ] as const)('is walked %s, %s, as far, and by as few ties, as the library finds', async (way, when) => {
    const [ties, asOf] = when === 'now' ? [second, undefined] : [first, sizeOfFirst];
    const graph = asGraph(things, ties, way);
    for (let thing = 0; thing < things; thing += 1) {
      const [entry] = await store.read.trace.named(key(thing));
      const { entries } = await store.read.trace.reach([entry!.id], way, asOf);
      const depths = new Map(entries.map((item) => [item.key, item.depth]));
      const sorted = (found: Map<string, number>) => [...found].sort(([a], [b]) => (a < b ? -1 : 1));
      expect(sorted(depths)).toEqual(sorted(reachedIn(graph, key(thing))));
    }
  });

  it.each(['back', 'forward'] as const)('is walked %s through uses in a time as the library finds', async (way) => {
    /** Every third thing is a use, and every other of these lies in the time. */
    const useOf = (thing: number) => (thing % 3 === 0 ? thing % 2 === 0 : undefined);
    for (let thing = 0; thing < things; thing += 1) {
      const graph = asGraphOfUses(things, second, way, (one) => (one === thing ? undefined : useOf(one)));
      const [entry] = await store.read.trace.named(key(thing));
      const whole = await store.read.trace.reach([entry!.id], way);
      const left = narrowed(whole, [entry!.id], way, { use: (one) => useOf(Number(one.key.slice(1))) });
      const found = new Map<string, number>();
      for (const [node, distance] of reachedIn(graph, `before ${key(thing)}`)) {
        const name = node.replace(/^(before|after) /, '');
        found.set(name, Math.min(distance, found.get(name) ?? Number.POSITIVE_INFINITY));
      }
      const sorted = (all: Map<string, number>) => [...all].sort(([a], [b]) => (a < b ? -1 : 1));
      expect(sorted(new Map(left.entries.map((one) => [one.key, one.depth])))).toEqual(sorted(found));
      const ids = new Set(left.entries.map(({ id }) => id));
      expect(left.ties.every(({ source, target }) => ids.has(source) && ids.has(target))).toBe(true);
    }
  });
});

it('visits everything once although all of it lies on one loop', async () => {
  const { folder, remove } = temporaryFolder();
  const store = await openStore(folder);
  const ties = Array.from({ length: 30 }, (_, from) => ({
    from,
    to: (from + 1) % 30,
    name: 'contains powder state' as const,
  }));
  await record(store, 30, ties);
  const graph = asGraph(30, ties, 'back');
  expect(alg.isAcyclic(graph)).toBe(false);
  const [first] = await store.read.trace.named(key(0));
  const { entries, ties: walked } = await store.read.trace.reach([first!.id], 'back');
  expect(entries).toHaveLength(30);
  expect(walked).toHaveLength(30);
  await store.close();
  remove();
});
