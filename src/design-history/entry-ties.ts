import type { EntryRef } from '../kinds/references.js';
import type { TieName } from '../kinds/ties.js';
import { type DesignRevision, refText } from './design-facts.js';
import { type DesignIndex, linksOf } from './design-index.js';

/** A tie of one entry, to what it names or from what names it. */
export interface EntryTie {
  readonly tie: TieName;
  readonly other: EntryRef;
  /** What the other is called; null where it is no document of the design. */
  readonly name: string | null;
  /** Revision that the tie names; null where it names none. */
  readonly revision: number | null;
  /** Whether that is the latest one; null where it names none, or the other is no document of the design. */
  readonly isCurrent: boolean | null;
}

export interface EntryTies {
  readonly entry: DesignRevision;
  readonly names: readonly EntryTie[];
  readonly namedBy: readonly EntryTie[];
}

/** One entry of a design with all that it names and all current documents that name it; undefined where it is none. */
export function entryTies(design: DesignIndex, ref: EntryRef): EntryTies | undefined {
  const entry = design.latest(ref);
  if (entry === undefined) return undefined;
  const told = (tie: TieName, other: EntryRef, pinned: EntryRef, revision: number | undefined): EntryTie => {
    const latest = design.latest(pinned);
    return {
      tie,
      other: { kind: other.kind, key: other.key },
      name: design.latest(other)?.name ?? null,
      revision: revision ?? null,
      isCurrent: revision === undefined || latest === undefined ? null : latest.revision === revision,
    };
  };
  return {
    entry,
    names: linksOf(entry).map((link) => told(link.name, link, link, link.revision)),
    namedBy: design.tiesTo(ref).map(({ from, link }) => told(link.name, from, ref, link.revision)),
  };
}

/** Each tie to an entry once, whatever its revision; baselines name everything, so that they say nothing here. */
export function toldOnce(ties: readonly EntryTie[]): EntryTie[] {
  const told = new Map<string, EntryTie>();
  for (const one of ties) if (one.other.kind !== 'baseline') told.set(`${one.tie} ${refText(one.other)}`, one);
  return [...told.values()];
}
