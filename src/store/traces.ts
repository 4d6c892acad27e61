import { anyKindNamed } from '../kinds/catalogue.js';
import { type Direction, FOR_CASE, isEnding, type TieName } from '../kinds/ties.js';
import { bodyOf } from './bodies.js';
import type { Db } from './db.js';
import { nearest } from './near-keys.js';
import type { EntryColumns, TieColumns } from './questions.js';

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

/** A tie that only a superseded revision of its source has. */
export interface EarlierTie {
  readonly near: number;
  readonly far: number;
  readonly source: number;
  readonly name: TieName;
  /** Of its source. */
  readonly revision: number;
  /** What lies at its far end. */
  readonly kind: string;
  readonly key: string;
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
  async named(key: string, asOf = Number.POSITIVE_INFINITY) {
    const found = await this.db.ask(this.db.sql.ENTRIES_NAMED, key, `:${key}`);
    return found.filter(({ ledgerSeq }) => ledgerSeq <= asOf).map(({ ledgerSeq, ...named }) => named);
  }

  /** Entries whose keys are spelt nearly so, the nearest first: for whoever asked for one that is not there. */
  async near(key: string): Promise<{ readonly kind: string; readonly key: string }[]> {
    return nearest(key, await this.db.ask(this.db.sql.ENTRIES_LIKE, key));
  }

  /**
   * Everything that entries go back to, or that they went into, themselves included; and the ties walked over.
   * @param asOf an entry of the audit trail: what was on record then counts, and nothing later.
   */
  async reach(from: readonly number[], direction: Direction, asOf?: number): Promise<Reach> {
    const sql = this.db.sql.reachOf(direction, asOf);
    const [row] = await this.db.ask(sql, JSON.stringify(from));
    const ties = [...tiesFrom(row!.along, 'source'), ...tiesFrom(row!.against, 'target')];
    const [ids, kinds, keys, names, revisions] = JSON.parse(row!.entries) as EntryColumns;
    const places = [...new Map(ids.map((id, place) => [id, place])).values()];
    const own = places.map((place) => ids[place]!);
    const depths = depthsFrom(from, own, ties, direction);
    const entries = places.map(
      (place, index): TracedEntry => ({
        id: ids[place]!,
        kind: kinds[place]!,
        key: keys[place]!,
        name: names[place] ?? '',
        revision: revisions[place] ?? 0,
        depth: depths[index]!,
      }),
    );
    return { entries, ties };
  }

  /** What an actor took in, through whatever account of the machine, the latest first. */
  enteredBy(actor: string): Promise<EnteredRevision[]> {
    return this.db.ask(this.db.sql.REVISIONS_BY, actor, `${actor} through `, `${actor} through!`);
  }

  /** Ties of superseded revisions that led from these entries in a direction, and that the latest ones do not have any more. */
  async earlier(entries: readonly number[], direction: Direction, asOf?: number): Promise<EarlierTie[]> {
    const found = await this.db.ask(this.db.sql.earlierTies(direction, asOf), JSON.stringify(entries));
    return found.map(({ near, far, source, revision, ...tie }) => ({
      ...tie,
      ...{ near: Number(near), far: Number(far), source: Number(source), revision: Number(revision) },
    }));
  }

  /** Which entry of the audit trail recorded each of these revisions; those that are on record alone. */
  async recorded(
    revisions: readonly Pick<EnteredRevision, 'kind' | 'key' | 'revision'>[],
  ): Promise<{ kind: string; key: string; revision: number; seq: number }[]> {
    const wanted = JSON.stringify(revisions.map(({ kind, key, revision }) => [kind, key, revision]));
    const found = await this.db.ask(this.db.sql.RECORDED_REVISIONS, wanted);
    return found.map(({ revision, seq, ...named }) => ({ ...named, revision: Number(revision), seq: Number(seq) }));
  }

  /** Codes of the lots that name this evidence, or that rest on what names it, in order; what is of a case is of its lots. */
  async lotsRestingOn(sha256: string): Promise<string[]> {
    const resting = await this.db.ask(this.db.sql.ENTRIES_NAMING_EVIDENCE, sha256);
    const ids = resting.map(({ id }) => Number(id));
    const { entries } = await this.reach(ids, 'forward');
    const lots = new Set(entries.filter(({ kind }) => kind === 'lot').map(({ key }) => key));
    for (const code of await this.casesAmong(entries)) {
      const implants = await this.db.ask(this.db.sql.LATEST_TIED_TO, 'case', code, FOR_CASE);
      for (const { digest, text } of implants) lots.add(bodyOf('implant', digest, text).lot);
    }
    return [...lots].sort();
  }

  /** Codes of the cases that any of these tells of. */
  private async casesAmong(entries: readonly TracedEntry[]): Promise<Set<string>> {
    const ofCases = entries.filter(({ kind }) => anyKindNamed(kind)?.caseOf);
    const latest = await this.db.ask(this.db.sql.LATEST_OF_IDS, JSON.stringify(ofCases.map(({ id }) => id)));
    return new Set(latest.map(({ kind, digest, text }) => anyKindNamed(kind)!.caseOf!(bodyOf(kind, digest, text))));
  }
}

/** @param near the end of each tie that the walk came from. */
function tiesFrom(json: string, near: 'source' | 'target'): Tie[] {
  const [sources, targets, names, massesG, counts, revisions] = JSON.parse(json) as TieColumns;
  return sources.map((source, index) => ({
    source,
    target: targets[index]!,
    near: near === 'source' ? source : targets[index]!,
    name: names[index]!,
    massG: massesG[index]!,
    count: counts[index]!,
    revision: revisions[index]!,
  }));
}

/** What lies at the other end of a tie. */
export const farOf = ({ source, target, near }: Tie): number => (near === source ? target : source);

const NONE = -1;

/**
 * What of a reach is left when uses count only where they lie in a time. The first use on a way decides: what is reached
 * through one that lies within it is left whatever its own time, as a test is that was made weeks after the build. What was
 * asked for is left in any case.
 */
export function narrowed(
  { entries, ties }: Reach,
  from: readonly number[],
  direction: Direction,
  keeps: {
    /** Whether a use lies in the time; undefined for what is none. */
    readonly use: (entry: TracedEntry) => boolean | undefined;
    readonly tie?: (tie: Tie) => boolean;
  },
): Reach {
  const asked = new Set(from);
  const uses = new Map(entries.map((entry) => [entry.id, asked.has(entry.id) ? undefined : keeps.use(entry)]));
  const ways = ties.flatMap((tie) => {
    if (!(keeps.tie?.(tie) ?? true)) return [];
    const far = uses.get(farOf(tie));
    const isOpen = uses.get(tie.near) === undefined && far !== false;
    const after = { tie, walked: between(tie, AFTER_USE, AFTER_USE) };
    return isOpen
      ? [{ tie, walked: between(tie, BEFORE_USE, far === undefined ? BEFORE_USE : AFTER_USE) }, after]
      : [after];
  });
  const places = entries.flatMap(({ id }) => [placeOf(id, BEFORE_USE), placeOf(id, AFTER_USE)]);
  const walked = ways.map((way) => way.walked);
  const depths = depthsFrom(
    from.filter((id) => uses.has(id)).map((id) => placeOf(id, BEFORE_USE)),
    places,
    walked,
    direction,
  );
  const reached = new Set(places.filter((_, index) => depths[index] !== NONE));
  const left = entries.flatMap((entry, index) => {
    const own = [depths[2 * index]!, depths[2 * index + 1]!].filter((depth) => depth !== NONE);
    return own.length === 0 ? [] : [{ ...entry, depth: Math.min(...own) }];
  });
  const kept = ways.filter((way) => reached.has(way.walked.near) && reached.has(farOf(way.walked)));
  return { entries: left, ties: [...new Set(kept.map(({ tie }) => tie))] };
}

/** Each thing twice: as it is met before any use, and behind one. */
const BEFORE_USE = 0;
const AFTER_USE = 1;
type Side = typeof BEFORE_USE | typeof AFTER_USE;

const placeOf = (id: number, side: Side): number => 2 * id + side;

function between(tie: Tie, near: Side, far: Side): Tie {
  const [from, to] = [placeOf(tie.near, near), placeOf(farOf(tie), far)];
  return tie.near === tie.source
    ? { ...tie, source: from, target: to, near: from }
    : { ...tie, source: to, target: from, near: from };
}

/**
 * The least number of ties between what was asked for and each of these entries, in their order; below zero for one that is
 * not reached. No way leads on behind an ending tie. Ties from one entry are a chain of places, since hundreds of thousands of lists would cost more than the query.
 */
function depthsFrom(
  from: readonly number[],
  entries: readonly number[],
  ties: readonly Tie[],
  direction: Direction,
): Int32Array {
  const placeOf = new Map(entries.map((id, place) => [id, place]));
  const first = new Int32Array(entries.length).fill(NONE);
  const following = new Int32Array(ties.length);
  const fars = new Int32Array(ties.length);
  ties.forEach((tie, index) => {
    const near = placeOf.get(tie.near)!;
    fars[index] = placeOf.get(farOf(tie))!;
    following[index] = first[near]!;
    first[near] = index;
  });
  const open = new Int32Array(entries.length).fill(NONE);
  const ends = new Int32Array(entries.length).fill(NONE);
  const reached = from.map((id) => placeOf.get(id)!);
  for (const place of reached) open[place] = 0;
  // Nearest entries first, also over what is added on the way.
  for (const place of reached) {
    for (let index = first[place]!; index !== NONE; index = following[index]!) {
      const far = fars[index]!;
      const depths = isEnding(ties[index]!.name, direction) ? ends : open;
      if (depths[far] !== NONE) continue;
      depths[far] = open[place]! + 1;
      if (depths === open) reached.push(far);
    }
  }
  return open.map((depth, place) => {
    const end = ends[place]!;
    return depth === NONE || (end !== NONE && end < depth) ? end : depth;
  });
}
