import { NotFoundError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { JSON_PART_FORMAT } from '../dossier/facts.js';
import type { Dossier, PartRef, Pinned } from '../dossier/schema.js';
import type { Table } from '../dossier/tables.js';
import { linksToPin } from '../kinds/links-to-pin.js';
import type { StoredRevision } from './entries.js';
import type { SharedFacts } from './shared-facts.js';

export const asPinned = ({ kind, key, revision, digest, recordedAt, text }: StoredRevision): Pinned => ({
  ...{ kind, key, revision, digest, recordedAt },
  body: JSON.parse(text) as unknown,
});

/** Revisions and parts on their way into a dossier, and the last ledger entry that any of them came with. */
export class Gathering {
  private readonly revisions = new Map<string, StoredRevision>();
  readonly parts = new Map<string, { mediaType: string; text: string }>();
  readonly refs: PartRef[] = [];
  lastSeq = 0;

  /**
   * @param like a lot file of which the format is kept, part by part.
   * @param outer what is gathered already: it is not gathered a second time.
   */
  constructor(
    private readonly shared: SharedFacts,
    private readonly like?: Dossier,
    private readonly outer?: Gathering,
  ) {}

  touchedBy(ledgerSeq: number): void {
    this.lastSeq = Math.max(this.lastSeq, ledgerSeq);
  }

  /**
   * Pins a document and, along the links that its kind declares, whatever that rests on: step by step, with one question for
   * all that is a step further away.
   * @param body what the document says together with others, where its links are those of more than itself.
   */
  async follow(first: StoredRevision, body: unknown = first.body): Promise<void> {
    const start = this.add(first);
    const found = new Set([nameOf(start)]);
    let reached = [start];
    while (reached.length > 0) {
      const links = reached
        .filter((revision) => !this.outer?.hasRevision(revision))
        .flatMap((revision) => linksToPin(revision.kind, revision === start ? body : revision.body));
      await this.shared.fetch(links);
      reached = [];
      for (const { kind, key, revision: number } of links) {
        const next = await this.pin(kind, key, number);
        if (found.has(nameOf(next))) continue;
        found.add(nameOf(next));
        reached.push(next);
      }
    }
  }

  async pin<K extends string>(kind: K, key: string, number?: number): Promise<StoredRevision<K>> {
    const revisions = await this.shared.revisions(kind, key);
    const found = number === undefined ? revisions.at(-1) : revisions.find(({ revision }) => revision === number);
    if (!found) throw new NotFoundError(kind, number === undefined ? key : `${key} revision ${number}`);
    this.add(found);
    return found;
  }

  /** The current revisions of several entries of a kind, asked at once. */
  async pinAll(kind: string, keys: readonly string[]): Promise<void> {
    await this.shared.fetch(keys.map((key) => ({ kind, key })));
    for (const key of keys) await this.pin(kind, key);
  }

  add(found: StoredRevision): StoredRevision {
    if (!this.outer?.hasRevision(found)) this.revisions.set(nameOf(found), found);
    this.touchedBy(found.ledgerSeq);
    return found;
  }

  hasRevision(revision: Pick<StoredRevision, 'kind' | 'key' | 'revision'>): boolean {
    return this.revisions.has(nameOf(revision));
  }

  /** Adds a table, in the format that it has in the lot file that this one is to be like. */
  addTable<Row>(name: string, table: Table<Row>, rows: readonly Row[]): void {
    const format = this.like?.parts.find((part) => part.name === name)?.format ?? table.format;
    this.addPart({ name, format, mediaType: 'text/csv' }, table.write(rows, format));
  }

  addJson(name: string, value: unknown, more: Pick<PartRef, 'case'> = {}): void {
    this.addPart({ name, format: JSON_PART_FORMAT, mediaType: 'application/json', ...more }, canonicalJson(value));
  }

  private addPart(part: Omit<PartRef, 'sha256' | 'bytes'>, text: string): void {
    const sha256 = sha256Hex(text);
    this.parts.set(sha256, { mediaType: part.mediaType, text });
    this.refs.push({ ...part, sha256, bytes: Buffer.byteLength(text) });
  }

  /** Takes over a part as it stands in another lot file. */
  takeOver(part: PartRef, text: string): void {
    this.parts.set(part.sha256, { mediaType: part.mediaType, text });
    this.refs.push(part);
  }

  /** Takes over the references of parts, in the order of the names. */
  keepParts({ parts }: Dossier, names: readonly string[]): void {
    for (const name of names) this.refs.push(...parts.filter((part) => part.name === name));
  }

  /** Documents in the order of their names. */
  documents(): StoredRevision[] {
    return [...this.revisions.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, revision]) => revision);
  }

  pinned(): Pinned[] {
    return this.documents().map(asPinned);
  }
}

const nameOf = ({ kind, key, revision }: Pick<StoredRevision, 'kind' | 'key' | 'revision'>): string =>
  `${kind} ${key} ${revision}`;
