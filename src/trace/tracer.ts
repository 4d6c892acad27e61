import { NotFoundError } from '../errors.js';
import { kindTitle } from '../kinds/catalogue.js';
import type { Tie, TracedEntry } from '../store/reads.js';
import type { Store } from '../store/store.js';

export interface TraceNode {
  readonly kind: string;
  readonly title: string;
  readonly key: string;
  readonly name: string;
  readonly revision: number;
  /** Number of ties between this and what was asked for. */
  readonly depth: number;
  /** The tie by which it was reached, with masses where the tie has one. */
  readonly via: string;
}

export interface TraceMatch {
  readonly entry: TraceNode;
  /** What it was made of and by: recipe, powder, heats, gas, machine, people. */
  readonly back: readonly TraceNode[] | null;
  /** What was made from or with it. */
  readonly forward: readonly TraceNode[] | null;
}

export interface TraceReport {
  readonly asked: string;
  readonly matches: readonly TraceMatch[];
}

/** Answers where something came from and where it went. */
export class Tracer {
  constructor(private readonly store: Store) {}

  /**
   * Traces any identifier: a serial, coupon, lot, build, heat (by its bare number too), receipt, powder state, recipe,
   * instrument, person… Both directions unless one is asked for.
   * @throws NotFoundError when nothing has this identifier.
   */
  async trace(id: string, directions: { back?: boolean; forward?: boolean } = {}): Promise<TraceReport> {
    const both = !directions.back && !directions.forward;
    const entries = await this.store.read.entriesNamed(id);
    if (entries.length === 0) throw new NotFoundError('thing', id);
    const matches: TraceMatch[] = [];
    for (const entry of entries) {
      const back = both || directions.back ? await this.store.read.reach(entry.id, 'back') : undefined;
      const forward = both || directions.forward ? await this.store.read.reach(entry.id, 'forward') : undefined;
      const self = (back ?? forward)!.entries.find((item) => item.id === entry.id)!;
      matches.push({
        entry: asNode(self, ''),
        back: back ? nodesOf(entry.id, back, 'back') : null,
        forward: forward ? nodesOf(entry.id, forward, 'forward') : null,
      });
    }
    return { asked: id, matches };
  }
}

type Reach = { entries: readonly TracedEntry[]; ties: readonly Tie[] };

function nodesOf(from: number, { entries, ties }: Reach, direction: 'back' | 'forward'): TraceNode[] {
  const byId = new Map(entries.map((entry) => [entry.id, entry]));
  return entries
    .filter((entry) => entry.id !== from)
    .sort((a, b) => a.depth - b.depth || compare(a.kind, b.kind) || compare(a.key, b.key))
    .map((entry) => asNode(entry, viaText(entry, byId, ties, direction)));
}

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

const asNode = ({ kind, key, name, revision, depth }: TracedEntry, via: string): TraceNode => ({
  kind,
  title: kindTitle(kind),
  key,
  name,
  revision,
  depth,
  via,
});

/** The ties that lead here from one step nearer to what was asked for. */
function viaText(
  entry: TracedEntry,
  byId: ReadonlyMap<number, TracedEntry>,
  ties: readonly Tie[],
  direction: 'back' | 'forward',
): string {
  const [near, far] = direction === 'back' ? (['source', 'target'] as const) : (['target', 'source'] as const);
  const said = ties
    .filter((tie) => tie[far] === entry.id && byId.get(tie[near])?.depth === entry.depth - 1)
    .map((tie) => {
      const other = byId.get(tie[near])!.key;
      const mass = tie.massG === null ? '' : `, ${tie.massG} g`;
      return direction === 'back' ? `${other}: ${tie.name}${mass}` : `${tie.name} ${other}${mass}`;
    });
  return [...new Set(said)].join('; ');
}
