import { ENTRY_TYPES } from './entry.js';
import { Event } from './event.js';
import type { Subject } from './subject.js';

/** One value that an act set, with the one that stood before it. */
export interface TrailChange {
  readonly what: string;
  readonly before: string | null;
  readonly after: string | null;
  /** Why this value was changed, where it has a reason of its own. */
  readonly reason: string | null;
}

/** One line of the audit trail as people read it. */
export interface TrailLine {
  readonly seq: number;
  readonly at: string;
  readonly offset: string;
  readonly actor: string;
  readonly act: string;
  readonly subject: Subject;
  readonly reason: string | null;
  readonly changes: readonly TrailChange[];
}

/** What the trail is searched for. Nothing stands for all. */
export interface TrailFilter {
  /** Key of a thing, or the beginning of a SHA-256. */
  readonly thing?: string | undefined;
  /** Who acted, or whose account it was. */
  readonly person?: string | undefined;
  readonly act?: string | undefined;
  /** First and last day, UTC. */
  readonly from?: string | undefined;
  readonly to?: string | undefined;
}

/** What the trail can be searched for: the type of an entry, and of an event `event:` with its own type. */
export const TRAIL_ACTS: readonly string[] = [
  ...ENTRY_TYPES.filter((type) => type !== 'event-recorded'),
  ...Event.options.map(({ shape }) => `event:${shape.type.value}`),
];
