import type { Db } from './db.js';
import type { Direction, EntryFields, TieFields } from './questions.js';

export interface TracedEntry {
  readonly id: number;
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  readonly revision: number;
  readonly depth: number;
}

export interface Tie {
  readonly source: number;
  readonly target: number;
  readonly name: string;
  readonly massG: string | null;
  readonly revision: number | null;
}

/** What depends on what, through the links of the latest revisions. */
export class Traces {
  constructor(private readonly db: Db) {}

  /** Entries with this key, of whatever kind; the part after a colon finds a heat by its bare number. */
  async named(key: string) {
    return this.db.ask(this.db.sql.ENTRIES_NAMED, key, `:${key}`);
  }

  /** Everything that an entry depends on, or that depends on it, itself included, however far away; and the ties between. */
  async reach(entryId: number, direction: Direction): Promise<{ entries: TracedEntry[]; ties: Tie[] }> {
    const [row] = await this.db.ask(this.db.sql.reachOf(direction), entryId);
    const ties = (JSON.parse(row!.ties) as TieFields[])
      .sort(([a], [b]) => a - b)
      .map(([, source, target, name, massG, revision]): Tie => ({ source, target, name, massG, revision }));
    const depths = depthsFrom(entryId, ties, direction);
    const entries = (JSON.parse(row!.entries) as EntryFields[]).map(
      ([id, kind, key, name, revision]): TracedEntry => ({ id, kind, key, name, revision, depth: depths.get(id)! }),
    );
    return { entries, ties };
  }

  /** Codes of the lots that name this evidence, or that rest on what names it, in order. */
  async lotsRestingOn(sha256: string): Promise<string[]> {
    const links = await this.db.client.link.findMany({ where: { toEvidence: sha256 }, include: { from: true } });
    const lots = new Set<string>();
    for (const entryId of new Set(links.map((link) => link.from.entryId))) {
      const { entries } = await this.reach(entryId, 'forward');
      for (const entry of entries) if (entry.kind === 'lot') lots.add(entry.key);
      // A result sheet depends on its lot, not the lot on it.
      for (const lot of await this.lotsOfResultSet(entryId)) lots.add(lot);
    }
    return [...lots].sort();
  }

  private async lotsOfResultSet(entryId: number): Promise<string[]> {
    const links = await this.db.client.link.findMany({
      where: { from: { entryId }, name: 'of lot' },
      include: { toEntry: true },
    });
    return links.flatMap((link) => link.toEntry?.key ?? []);
  }
}

/** The least number of ties between an entry and each one reached from it. */
function depthsFrom(entryId: number, ties: readonly Tie[], direction: Direction): Map<number, number> {
  const next = new Map<number, number[]>();
  for (const { source, target } of ties) {
    const [near, far] = direction === 'back' ? [source, target] : [target, source];
    const neighbours = next.get(near);
    if (neighbours) neighbours.push(far);
    else next.set(near, [far]);
  }
  const depths = new Map([[entryId, 0]]);
  // A map is walked in the order of insertion, also over what is added on the way: nearest entries first.
  for (const [id, depth] of depths) {
    for (const far of next.get(id) ?? []) if (!depths.has(far)) depths.set(far, depth + 1);
  }
  return depths;
}
