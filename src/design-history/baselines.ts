import { kindNamed } from '../kinds/catalogue.js';
import type { Baseline } from '../kinds/design-history/baseline.js';
import { DOCUMENTS_OF_FAMILY } from '../kinds/design-history/history-kinds.js';
import type { DesignRevision } from './design-facts.js';
import { refText } from './design-facts.js';
import { type DesignIndex, linksOf } from './design-index.js';

export type Member = Baseline['members'][number];

const memberOf = ({ kind, key, revision, digest }: DesignRevision): Member => ({ kind, key, revision, digest });

const byName = (a: Member, b: Member): number => (refText(a) < refText(b) ? -1 : 1);

/** What a design consists of as it stands: its current documents, its family, and the documents that any of them names. */
export function membersOf(design: DesignIndex): DesignRevision[] {
  const own = [
    ...DOCUMENTS_OF_FAMILY.flatMap((kind): readonly DesignRevision[] => design.current(kind)),
    ...design.current('family').filter(({ key }) => key === design.family),
  ];
  const found = new Map(own.map((one) => [refText(one), one]));
  for (const one of own) {
    for (const link of linksOf(one)) {
      const named = link.revision === undefined ? undefined : design.latest(link);
      if (named !== undefined && !named.withdrawn && isDocument(named)) found.set(refText(named), named);
    }
  }
  return [...found.values()].sort(byName);
}

/** Running entries grow with what happens, and are no part of a design. */
const isDocument = ({ kind }: DesignRevision): boolean => kindNamed(kind)?.numbering === 'document';

export const asMembers = (revisions: readonly DesignRevision[]): Member[] => revisions.map(memberOf);

export const draftsAmong = (revisions: readonly DesignRevision[]): DesignRevision[] =>
  revisions.filter(({ approvedBy }) => approvedBy === null);

/** Baselines of the family, the one that was frozen first before the others. */
export const baselinesOf = (design: DesignIndex): DesignRevision<'baseline'>[] =>
  [...design.current('baseline')].sort((a, b) => a.body.asOf.entries - b.body.asOf.entries);

/** What differs between two sets of documents, each in the order of kind and key. */
export interface MembersCompared {
  readonly added: readonly Member[];
  readonly removed: readonly Member[];
  /** In another revision, or in the same one with another digest: then something was altered. */
  readonly revised: readonly { readonly before: Member; readonly after: Member }[];
  readonly same: number;
}

export function compareMembers(before: readonly Member[], after: readonly Member[]): MembersCompared {
  const then = new Map(before.map((one) => [refText(one), one]));
  const now = new Map(after.map((one) => [refText(one), one]));
  const both = [...then.values()].flatMap((one) => {
    const other = now.get(refText(one));
    return other === undefined ? [] : [{ before: one, after: other }];
  });
  const revised = both.filter((pair) => pair.before.digest !== pair.after.digest);
  return {
    added: after.filter((one) => !then.has(refText(one))).sort(byName),
    removed: before.filter((one) => !now.has(refText(one))).sort(byName),
    revised: revised.sort((a, b) => byName(a.before, b.before)),
    same: both.length - revised.length,
  };
}
