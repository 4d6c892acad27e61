import type { KindName } from '../kinds/catalogue.js';
import type { StoredRevision } from './entries.js';
import type { Reads } from './repositories.js';

const POWDER = 'powder-state' satisfies KindName;

/**
 * What lots have in common: the documents that they rest on. Read when first asked for and then kept, so that a list of
 * many lots reads it once; hence for one list only.
 */
export class SharedFacts {
  private readonly documents = new Map<string, Promise<StoredRevision[]>>();
  private plans: Promise<StoredRevision<'capability-plan'>[]> | undefined;

  constructor(private readonly read: Reads) {}

  /** All revisions of an entry, oldest first. */
  revisions<K extends string>(kind: K, key: string): Promise<StoredRevision<K>[]> {
    const name = nameOf(kind, key);
    const known =
      this.documents.get(name) ?? (kind === POWDER ? this.ofPowder(key) : this.read.entries.revisions(kind, key));
    this.documents.set(name, known);
    return known as Promise<StoredRevision<K>[]>;
  }

  /** Reads what is not known yet of some entries, asked at once; powder is read when it is asked for. */
  async fetch(entries: readonly { readonly kind: string; readonly key: string }[]): Promise<void> {
    const unknown = new Map<string, readonly [kind: string, key: string]>();
    for (const { kind, key } of entries) {
      const name = nameOf(kind, key);
      if (kind !== POWDER && !this.documents.has(name)) unknown.set(name, [kind, key]);
    }
    if (unknown.size === 0) return;
    const found = new Map<string, StoredRevision[]>([...unknown.keys()].map((name) => [name, []]));
    for (const revision of await this.read.entries.revisionsOf([...unknown.values()])) {
      found.get(nameOf(revision.kind, revision.key))!.push(revision);
    }
    for (const [name, revisions] of found) this.documents.set(name, Promise.resolve(revisions));
  }

  /** Powder comes with all powder that it was made of: one question, where asking state by state would be thousands. */
  private async ofPowder(key: string): Promise<StoredRevision[]> {
    const found = new Map<string, StoredRevision[]>();
    for (const revision of await this.read.entries.containedIn(POWDER, key)) {
      const name = nameOf(revision.kind, revision.key);
      const known = found.get(name);
      if (known) known.push(revision);
      else found.set(name, [revision]);
    }
    for (const [name, revisions] of found) {
      if (!this.documents.has(name)) this.documents.set(name, Promise.resolve(revisions));
    }
    return found.get(nameOf(POWDER, key)) ?? [];
  }

  /** Every revision of every capability plan. */
  capabilityPlans(): Promise<StoredRevision<'capability-plan'>[]> {
    this.plans ??= this.read.entries.allRevisions('capability-plan');
    return this.plans;
  }
}

const nameOf = (kind: string, key: string): string => `${kind} ${key}`;
