import { type Direction, isEnding, type TieName } from '../kinds/ties.js';
import type { Db } from './db.js';
import type { EntryFields, TieFields } from './questions.js';

export interface TracedEntry {
  readonly id: number;
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  /** 0 where there is no document: something else names it, and that is all. */
  readonly revision: number;
  /** The least number of ties between it and what was asked for. */
  readonly depth: number;
}

/** A tie as it was walked over. */
export interface Tie {
  readonly source: number;
  readonly target: number;
  /** The one of the two from which the walk came. */
  readonly near: number;
  readonly name: TieName;
  readonly massG: string | null;
  readonly count: number | null;
  readonly revision: number | null;
}

/** One revision that somebody took in. */
export interface EnteredRevision {
  readonly kind: string;
  readonly key: string;
  readonly revision: number;
  readonly name: string;
  readonly recordedAt: string;
}

export interface Reach {
  readonly entries: readonly TracedEntry[];
  readonly ties: readonly Tie[];
}

/** What depends on what, through the links of the latest revisions, as the table of ties says. */
export class Traces {
  constructor(private readonly db: Db) {}

  /** Entries with this key, of whatever kind; the part after a colon finds a heat by its bare number. */
  async named(key: string) {
    return this.db.ask(this.db.sql.ENTRIES_NAMED, key, `:${key}`);
  }

  /** Everything that entries go back to, or that they went into, themselves included; and the ties walked over. */
  async reach(from: readonly number[], direction: Direction): Promise<Reach> {
    const sql = this.db.sql.reachOf(direction);
    const [row] = await this.db.ask(sql, JSON.stringify(from));
    const ties = [...(JSON.parse(row!.along) as TieFields[]), ...(JSON.parse(row!.against) as TieFields[])]
      .sort(([a], [b]) => a - b)
      .map(
        ([, near, source, target, name, massG, count, revision]): Tie => ({
          ...{ source, target, near, name, massG, count, revision },
        }),
      );
    const depths = depthsFrom(from, ties, direction);
    const entries = (JSON.parse(row!.entries) as EntryFields[]).map(
      ([id, kind, key, name, revision]): TracedEntry => ({
        ...{ id, kind, key, depth: depths.get(id)! },
        ...{ name: name ?? '', revision: revision ?? 0 },
      }),
    );
    return { entries, ties };
  }

  /** What an actor took in, the latest first. */
  enteredBy(actor: string): Promise<EnteredRevision[]> {
    return this.db.ask(this.db.sql.REVISIONS_BY, actor);
  }

  /** Codes of the lots that name this evidence, or that rest on what names it, in order. */
  async lotsRestingOn(sha256: string): Promise<string[]> {
    const links = await this.db.client.link.findMany({ where: { toEvidence: sha256 }, include: { from: true } });
    const { entries } = await this.reach([...new Set(links.map((link) => link.from.entryId))], 'forward');
    return entries
      .filter(({ kind }) => kind === 'lot')
      .map(({ key }) => key)
      .sort();
  }
}

/** What lies at the other end of a tie. */
export const farOf = ({ source, target, near }: Tie): number => (near === source ? target : source);

/** The least number of ties between what was asked for and each entry reached. No way leads on behind an ending tie. */
function depthsFrom(from: readonly number[], ties: readonly Tie[], direction: Direction): Map<number, number> {
  const next = new Map<number, Tie[]>();
  for (const tie of ties) {
    const known = next.get(tie.near);
    if (known) known.push(tie);
    else next.set(tie.near, [tie]);
  }
  const open = new Map(from.map((id) => [id, 0]));
  const ends = new Map<number, number>();
  // A map is walked in the order of insertion, also over what is added on the way: nearest entries first.
  for (const [id, depth] of open) {
    for (const tie of next.get(id) ?? []) {
      const reached = isEnding(tie.name, direction) ? ends : open;
      const far = farOf(tie);
      if (!reached.has(far)) reached.set(far, depth + 1);
    }
  }
  for (const [id, depth] of ends) open.set(id, Math.min(depth, open.get(id) ?? depth));
  return open;
}
