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
const MOST_IN_GROUP = 40;
/** Ties up to which a picture is unfolded at first. */
const OPEN_TO = 2;

const nameOf = ({ kind, key }: ThingName): string => `${kind} ${key}`;

interface Drawn extends ThingName, Pick<TraceNode, 'title' | 'verdict' | 'depth'> {
  readonly earlier: boolean;
}

/** @param earlier those of this direction. */
export function pathPicture(
  entry: ThingName,
  nodes: readonly TraceNode[],
  earlier: readonly EarlierNode[],
): readonly PathGroup[] {
  const behind = new Map<string, Drawn[]>();
  const put = (nearer: ThingName, one: Drawn) => {
    const known = behind.get(nameOf(nearer));
    if (known) known.push(one);
    else behind.set(nameOf(nearer), [one]);
  };
  const depths = new Map([[nameOf(entry), 0], ...nodes.map((node) => [nameOf(node), node.depth] as const)]);
  for (const node of nodes) put(node.nearer[0] ?? entry, { ...node, earlier: false });
  const seen = new Set<string>();
  for (const one of earlier) {
    const place = `${nameOf(one.nearer)} ${nameOf(one)}`;
    if (seen.has(place)) continue;
    seen.add(place);
    put(one.nearer, { ...one, verdict: null, depth: (depths.get(nameOf(one.nearer)) ?? 0) + 1, earlier: true });
  }
  return groupsOf(behind.get(nameOf(entry)) ?? [], behind);
}

function groupsOf(all: readonly Drawn[], behind: ReadonlyMap<string, readonly Drawn[]>): PathGroup[] {
  const byKind = new Map<string, Drawn[]>();
  for (const one of all) {
    const known = byKind.get(one.kind);
    if (known) known.push(one);
    else byKind.set(one.kind, [one]);
  }
  return [...byKind].map(([kind, own]) => ({
    nodes: own.slice(0, MOST_IN_GROUP).map((one) => ({
      ...{ key: one.key, shown: shortKey(one), title: one.title, verdict: one.verdict, earlier: one.earlier },
      groups: one.earlier ? [] : groupsOf(behind.get(nameOf(one)) ?? [], behind),
    })),
    folded: own.length > MOST_UNFOLDED ? countedKindText(kind, own.length) : null,
    more: Math.max(0, own.length - MOST_IN_GROUP),
    open: own[0]!.depth <= OPEN_TO,
  }));
}
