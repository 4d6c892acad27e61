import { countedKindText } from '../report/phrases/kinds.js';
import { type EarlierNode, shortKey, type ThingName, type TraceNode } from './traced.js';

/** The way of a trace as a picture: a tree that begins with what was asked for, each thing once, groups of one kind folded. */

export interface PathNode {
  readonly key: string;
  readonly shown: string;
  readonly title: string;
  readonly verdict: TraceNode['verdict'];
  /** Only an earlier revision was tied to it. */
  readonly earlier: boolean;
  readonly groups: readonly PathGroup[];
}

/** Things of one kind beside each other. */
export interface PathGroup {
  readonly nodes: readonly PathNode[];
  /** `239 × result`, where so many are folded to one. */
  readonly folded: string | null;
  /** How many of them are not drawn. */
  readonly more: number;
  readonly open: boolean;
}

/** Up to as many things of a kind stand beside each other without being folded. */
const MOST_UNFOLDED = 4;
const MOST_IN_GROUP = 12;
/** More than anybody follows with the eye: what is nearest is drawn, and each thing leads to a picture of its own. */
const MOST_DRAWN = 120;
/** Ties up to which a picture is unfolded at first. */
const OPEN_TO = 2;

const nameOf = ({ kind, key }: ThingName): string => `${kind} ${key}`;

interface Drawn extends ThingName, Pick<TraceNode, 'title' | 'verdict'> {
  readonly depth: number;
  readonly earlier: boolean;
}

/**
 * @param nodes the nearest first.
 * @param earlier those of this direction.
 */
export function pathPicture(
  entry: ThingName,
  nodes: readonly TraceNode[],
  earlier: readonly EarlierNode[],
): readonly PathGroup[] {
  const behind = new Map<string, Map<string, Group>>();
  const depths = new Map([[nameOf(entry), 0]]);
  const put = (
    nearer: ThingName,
    { kind, key, title }: TraceNode | EarlierNode,
    more: Pick<Drawn, 'verdict' | 'earlier'>,
  ) => {
    const depth = depths.get(nameOf(nearer));
    if (depth === undefined) return;
    const groups = behind.get(nameOf(nearer)) ?? new Map<string, Group>();
    behind.set(nameOf(nearer), groups);
    const group = groups.get(kind) ?? { drawn: [], count: 0 };
    groups.set(kind, group);
    group.count += 1;
    if (group.drawn.length === MOST_IN_GROUP || depths.size > MOST_DRAWN) return;
    group.drawn.push({ kind, key, title, depth: depth + 1, ...more });
    if (!more.earlier) depths.set(nameOf({ kind, key }), depth + 1);
  };
  for (const node of nodes) {
    const [nearer = entry] = node.nearer;
    put(nearer, node, { verdict: node.verdict, earlier: false });
  }
  const seen = new Set<string>();
  for (const one of earlier) {
    const place = `${nameOf(one.nearer)} ${nameOf(one)}`;
    if (seen.has(place)) continue;
    seen.add(place);
    put(one.nearer, one, { verdict: null, earlier: true });
  }
  return groupsOf(nameOf(entry), behind);
}

/** Things of one kind behind one thing. */
interface Group {
  readonly drawn: Drawn[];
  /** Also those that are not drawn. */
  count: number;
}

const groupsOf = (place: string, behind: ReadonlyMap<string, ReadonlyMap<string, Group>>): PathGroup[] =>
  [...(behind.get(place) ?? [])].map(([kind, { drawn, count }]) => ({
    nodes: drawn.map((one) => ({
      ...{ key: one.key, shown: shortKey(one), title: one.title, verdict: one.verdict, earlier: one.earlier },
      groups: one.earlier ? [] : groupsOf(nameOf(one), behind),
    })),
    folded: count > MOST_UNFOLDED || drawn.length === 0 ? countedKindText(kind, count) : null,
    more: count - drawn.length,
    open: (drawn[0]?.depth ?? 0) <= OPEN_TO,
  }));
