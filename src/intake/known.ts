import type { BodyOf } from '../kinds/catalogue.js';
import { numberOf } from '../kinds/common-fields.js';
import type { StoredRevision, Taker } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';
import { isSame, revisionBefore } from './repeats.js';
import type { ReadDocument } from './yaml-document.js';

/** The body of a document that comes in, if it is of the kind: it was read by the schema of its kind. */
export const bodyIf = <K extends string>(kind: K, { kind: read, body }: ReadDocument): BodyOf<K> | undefined =>
  read.kind === kind ? (body as BodyOf<K>) : undefined;

/** What references may point to: the store, and the documents that are being taken in together. */
export class Known {
  private readonly bodies = new Map<string, unknown>();
  private readonly declared = new Set<string>();
  private readonly stored = new Map<string, readonly StoredRevision[]>();

  constructor(
    private readonly read: Reads,
    documents: readonly ReadDocument[],
  ) {
    for (const { kind, body } of documents) {
      const key = kind.key(body);
      this.declared.add(`${kind.kind} ${key}`);
      const number = numberOf(kind, body);
      if (number !== undefined) this.bodies.set(`${kind.kind} ${key} ${number}`, body);
      this.bodies.set(`${kind.kind} ${key}`, body);
      for (const item of kind.declares(body)) this.declared.add(`${item.kind} ${item.key}`);
    }
  }

  /** Revisions in the store, oldest first. */
  async revisions<K extends string>(kind: K, key: string): Promise<readonly StoredRevision<K>[]> {
    const name = `${kind} ${key}`;
    const known =
      (this.stored.get(name) as StoredRevision<K>[] | undefined) ?? (await this.read.entries.revisions(kind, key));
    this.stored.set(name, known);
    return known;
  }

  async has(kind: string, key: string, revision?: number): Promise<boolean> {
    if (revision === undefined) {
      return this.declared.has(`${kind} ${key}`) || (await this.revisions(kind, key)).length > 0;
    }
    return (await this.body(kind, key, revision)) !== undefined;
  }

  /** The body of a revision, or of the current one; what is being taken in wins over what is stored. */
  async body<K extends string>(kind: K, key: string, revision?: number): Promise<BodyOf<K> | undefined> {
    const fresh = this.bodies.get(revision === undefined ? `${kind} ${key}` : `${kind} ${key} ${revision}`);
    if (fresh !== undefined) return fresh as BodyOf<K>;
    const stored = await this.revisions(kind, key);
    return (revision === undefined ? stored.at(-1) : stored.find((item) => item.revision === revision))?.body;
  }

  /** Whether a document says what its revision in the store says. */
  async isRecorded({ kind, body }: ReadDocument): Promise<boolean> {
    return isSame(await revisionBefore(this.read, kind.kind, kind.key(body), numberOf(kind, body)), body);
  }

  /** What takes mass from an entry, by the store. */
  takers(kind: string, key: string): Promise<Taker[]> {
    return this.read.entries.takers(kind, key);
  }
}
