import type { BodyOf } from '../kinds/catalogue.js';
import { numberOf } from '../kinds/common-fields.js';
import type { StoredRevision, Taker } from '../store/entries.js';
import type { Reads } from '../store/repositories.js';
import { isSame } from './repeats.js';
import type { ReadDocument } from './yaml-document.js';

/** The body of a document that comes in, if it is of the kind: it was read by the schema of its kind. */
export const bodyIf = <K extends string>(kind: K, { kind: read, body }: ReadDocument): BodyOf<K> | undefined =>
  read.kind === kind ? (body as BodyOf<K>) : undefined;

/** What references may point to: the store, and the documents that are being taken in together. */
export class Known {
  private readonly bodies = new Map<string, unknown>();
  private readonly declared = new Set<string>();
  private readonly stored = new Map<string, readonly StoredRevision[]>();

  /** Kind and key of all that the documents are about and refer to, by both together. */
  private readonly named = new Map<string, readonly [kind: string, key: string]>();

  constructor(
    private readonly read: Reads,
    documents: readonly ReadDocument[],
  ) {
    const name = (kind: string, key: string) => this.named.set(`${kind} ${key}`, [kind, key]);
    for (const { kind, body } of documents) {
      const key = kind.key(body);
      name(kind.kind, key);
      for (const link of kind.links(body)) name(link.kind, link.key);
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
    if (this.named.size > 0) await this.readNamed();
    const known =
      (this.stored.get(name) as StoredRevision<K>[] | undefined) ?? (await this.read.entries.revisions(kind, key));
    this.stored.set(name, known);
    return known;
  }

  /** One question for all that is sure to be asked for, where one for each would be hundreds. */
  private async readNamed(): Promise<void> {
    const named = new Map(this.named);
    this.named.clear();
    const found = new Map<string, StoredRevision[]>([...named.keys()].map((name) => [name, []]));
    for (const revision of await this.read.entries.revisionsOf([...named.values()])) {
      found.get(`${revision.kind} ${revision.key}`)!.push(revision);
    }
    for (const [name, revisions] of found) this.stored.set(name, revisions);
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
    const [stored, number] = [await this.revisions(kind.kind, kind.key(body)), numberOf(kind, body)];
    return isSame(number === undefined ? stored.at(-1) : stored.find(({ revision }) => revision === number), body);
  }

  /** What takes mass from an entry, by the store. */
  takers(kind: string, key: string): Promise<Taker[]> {
    return this.read.entries.takers(kind, key);
  }
}
