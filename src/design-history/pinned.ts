import type { LinkDraft } from '../kinds/kind.js';
import type { RevisionRef } from '../kinds/references.js';
import type { TieName } from '../kinds/ties.js';
import type { DesignIndex, Tied } from './design-index.js';

/** Ties that tell of the design as it is now. Reviews, changes and baselines tell of what was then, and stay as they are. */
const OF_NOW: ReadonlySet<TieName> = new Set([
  'meets',
  'gives',
  'verifies',
  'validates',
  'worst case of',
  'controls',
  'shown by',
]);

export const pinText = ({ kind, key, revision }: RevisionRef): string => `${kind} ${key} ${revision}`;

export const pinOf = ({ kind, key, revision }: LinkDraft): RevisionRef => ({ kind, key, revision: revision! });

export const isPinned = ({ link }: Tied): boolean => link.revision !== undefined && OF_NOW.has(link.name);

/** Whether what a tie is pinned to stands on record and is not the latest revision, or was withdrawn. */
export function isBehind(design: DesignIndex, link: LinkDraft): boolean {
  const pinned = design.revision(pinOf(link));
  return pinned !== undefined && (pinned.withdrawn || pinned !== design.latest(link));
}

export const behindFacts = (design: DesignIndex, link: LinkDraft): Readonly<Record<string, string>> => ({
  revision: String(link.revision),
  latest: String(design.latest(link)!.revision),
  withdrawn: design.revision(pinOf(link))!.withdrawn ? 'yes' : 'no',
});
