import type { OneTimeLink } from './one-time-link.js';

/**
 * One-time links that were made and not shown yet, for the session that made them. They are kept nowhere but in memory, and
 * no longer than they work.
 */
export class UnseenLinks {
  private readonly links = new Map<string, OneTimeLink>();

  /** @param now time of the machine. */
  keep(session: string, person: string, link: OneTimeLink, now: Date): void {
    for (const [key, { expiresAt }] of this.links) {
      if (expiresAt <= now.toISOString()) this.links.delete(key);
    }
    this.links.set(keyOf(session, person), link);
  }

  /** The link for a person, once; undefined when there is none or it was shown. */
  take(session: string, person: string, now: Date): OneTimeLink | undefined {
    const link = this.links.get(keyOf(session, person));
    this.links.delete(keyOf(session, person));
    return link && link.expiresAt > now.toISOString() ? link : undefined;
  }
}

/** A session is a digest and no person's code has a blank, so that no two pairs are the same. */
const keyOf = (session: string, person: string): string => `${session} ${person}`;
