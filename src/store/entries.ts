import { NotFoundError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { ALL_KINDS, anyKindNamed, type BodyOf } from '../kinds/catalogue.js';
import { FOR_CASE, type TieName } from '../kinds/ties.js';
import { bodyOf } from './bodies.js';
import type { Db } from './db.js';
import type { Question } from './instruction.js';
import type { NewRows } from './new-rows.js';
import type { NamedEvidence, RevisionRow } from './questions.js';
import type { Recorder } from './recorder.js';

/** A revision as read back. */
export interface StoredRevision<K extends string = string> extends RevisionRow {
  readonly kind: K;
  /** The document, read by the schema of its kind when somebody first asks for it. */
  readonly body: BodyOf<K>;
}

export interface NewLink {
  readonly name: string;
  readonly to: { readonly kind: string; readonly key: string } | { readonly evidence: string };
  readonly revision?: number | undefined;
  readonly massG?: string | undefined;
  readonly count?: number | undefined;
}

export interface NewRevision {
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  readonly body: unknown;
  readonly links: readonly NewLink[];
  /** For documents that carry their own number; running entries get the next one. */
  readonly number?: number | undefined;
  readonly reason?: string | undefined;
}

/** What takes a mass from an entry. */
export interface Taker {
  readonly kind: string;
  readonly key: string;
  readonly massG: string | null;
  readonly count: number | null;
  /** Its latest body. */
  readonly body: unknown;
}

/** An implant with the lot that declares it. */
export interface CaseUnit {
  readonly serial: string;
  readonly lot: string;
}

/** No entry has so many revisions. */
const MOST = 2 ** 31 - 1;

const KINDS_OF_CASES = ALL_KINDS.filter(({ caseOf }) => caseOf !== undefined);

/** Anything with an identity, and its revisions. */
export class Entries<R = unknown> {
  /** Numbers of entries that this change has named, by kind and key. */
  private readonly ids = new Map<string, number>();

  constructor(private readonly db: Db<R>) {}

  /** The latest revision of an entry, or undefined when there is none. */
  async current<K extends string>(kind: K, key: string): Promise<StoredRevision<K> | undefined> {
    return (await this.ofEntry(kind, key, MOST, 1))[0];
  }

  /** @throws NotFoundError that names the thing as `title`. */
  async currentOrThrow<K extends string>(kind: K, key: string, title: string = kind): Promise<StoredRevision<K>> {
    const found = await this.current(kind, key);
    if (!found) throw new NotFoundError(title, key);
    return found;
  }

  async revision<K extends string>(kind: K, key: string, number: number): Promise<StoredRevision<K> | undefined> {
    const [found] = await this.ofEntry(kind, key, number, 1);
    return found?.revision === number ? found : undefined;
  }

  /** All revisions of an entry, oldest first. */
  async revisions<K extends string>(kind: K, key: string): Promise<StoredRevision<K>[]> {
    return (await this.ofEntry(kind, key)).reverse();
  }

  /** All revisions of several entries, those of one entry oldest first. */
  async revisionsOf<K extends string>(
    names: readonly (readonly [kind: K, key: string])[],
  ): Promise<StoredRevision<K>[]> {
    const rows = await this.db.ask(this.db.sql.REVISIONS_OF_ENTRIES, JSON.stringify(names));
    // Rows are of the kinds that were asked for.
    return rows.map((row) => withBody({ ...row, kind: row.kind as K }));
  }

  /** A revision and the one before it, whatever they are. */
  async pair(kind: string, key: string, number: number): Promise<{ before: unknown; after: unknown }> {
    const rows = await this.ofEntry(kind, key, number, 2);
    const textOf = (row: StoredRevision | undefined): unknown => row && JSON.parse(row.text);
    return {
      before: textOf(rows.find((row) => row.revision < number)),
      after: textOf(rows.find((row) => row.revision === number)),
    };
  }

  /** The current revision of every entry of a kind, in the order of their keys. */
  list<K extends string>(kind: K): Promise<StoredRevision<K>[]> {
    return this.asked(this.db.sql.LATEST_OF_KIND, kind);
  }

  /** The same of several kinds, asked at once: what gives those of one of them. */
  async lists<Kinds extends string>(
    kinds: readonly Kinds[],
  ): Promise<<K extends Kinds>(kind: K) => readonly StoredRevision<K>[]> {
    const found = new Map<string, StoredRevision[]>(kinds.map((kind) => [kind, []]));
    for (const row of await this.db.ask(this.db.sql.LATEST_OF_KINDS, JSON.stringify([...found.keys()]))) {
      found.get(row.kind)!.push(withBody(row));
    }
    return <K extends Kinds>(kind: K) => found.get(kind) as readonly StoredRevision[] as readonly StoredRevision<K>[];
  }

  /** Entries of a kind that came last, the last one first, with their latest name and without what they say. */
  async newest(kind: string, most: number): Promise<{ key: string; name: string; revision: number }[]> {
    const rows = await (await this.db.client()).entry.findMany({
      where: { kind, revisions: { some: {} } },
      orderBy: { id: 'desc' },
      take: most,
      select: { key: true, revisions: { orderBy: { number: 'desc' }, take: 1, select: { name: true, number: true } } },
    });
    return rows.map(({ key, revisions: [last] }) => ({ key, name: last!.name, revision: last!.number }));
  }

  /** Every revision of every entry of a kind. */
  allRevisions<K extends string>(kind: K): Promise<StoredRevision<K>[]> {
    return this.asked(this.db.sql.ALL_OF_KIND, kind);
  }

  /** Every revision of the entries of a kind whose keys begin alike. */
  revisionsStarting<K extends string>(kind: K, start: string): Promise<StoredRevision<K>[]> {
    const { from, before } = this.db.sql.boundsOfStart(start);
    return this.asked(this.db.sql.ALL_BETWEEN, kind, from, before);
  }

  /** All revisions of an entry and of everything that it contains, oldest first, asked at once. */
  async containedIn(kind: string, key: string): Promise<StoredRevision[]> {
    const rows = await this.db.ask(this.db.sql.CONTAINED_IN, kind, key);
    return rows.map((row) => withBody(row));
  }

  /** Every implant that was made for a case, of whatever lot, in the order of the serials. */
  async unitsOfCase(code: string): Promise<CaseUnit[]> {
    const found = await this.db.ask(this.db.sql.LATEST_TIED_TO, 'case', code, FOR_CASE);
    return found.map(({ key, digest, text }) => ({ serial: key, lot: bodyOf('implant', digest, text).lot }));
  }

  /** Current documents of a kind that are tied to an entry by this name, in the order of their keys. */
  async tiedTo<K extends string>(from: K, kind: string, key: string, tie: TieName): Promise<StoredRevision<K>[]> {
    const rows = await this.db.ask(this.db.sql.LATEST_TIED_TO, kind, key, tie);
    return rows.filter((row) => row.kind === from).map((row) => withBody({ ...row, kind: from }));
  }

  /** The same of several entries of one kind, each document once. */
  async tiedToAny<K extends string>(
    from: K,
    kind: string,
    keys: readonly string[],
    tie: TieName,
  ): Promise<StoredRevision<K>[]> {
    const rows = await this.db.ask(this.db.sql.LATEST_TIED_TO_ANY, kind, JSON.stringify(keys), tie);
    return rows.filter((row) => row.kind === from).map((row) => withBody({ ...row, kind: from }));
  }

  /** Every revision of entries of these kinds of which one is tied to an entry by this name; of one entry oldest first. */
  async revisionsTiedTo(
    from: readonly string[],
    { kind, key }: { readonly kind: string; readonly key: string },
    tie: TieName,
  ): Promise<StoredRevision[]> {
    const rows = await this.db.ask(this.db.sql.ALL_TIED_TO, JSON.stringify(from), kind, key, tie);
    return rows.map((row) => withBody(row));
  }

  /** Keys of the entries of a kind to which current documents of some kinds are tied by this name, in their order. */
  async keysTiedTo(kind: string, tie: TieName, from: readonly string[]): Promise<string[]> {
    return (await this.db.ask(this.db.sql.KEYS_TIED_TO, kind, tie, JSON.stringify(from))).map(({ key }) => key);
  }

  /** Whether some current document is tied to an entry by this name. */
  async isTiedTo(kind: string, key: string, tie: string): Promise<boolean> {
    return (await this.db.ask(this.db.sql.LATEST_TIED_TO, kind, key, tie)).length > 0;
  }

  /**
   * The current documents of cases, by the code of the case. Each is called by that code, or tied to one that is.
   */
  async ofCases(codes: readonly string[]): Promise<Map<string, StoredRevision[]>> {
    const kinds = JSON.stringify(KINDS_OF_CASES.map(({ kind }) => kind));
    const found = new Map<string, StoredRevision[]>(codes.map((code) => [code, []]));
    for (const row of await this.db.ask(this.db.sql.LATEST_AROUND, kinds, JSON.stringify(codes))) {
      const revision = withBody(row);
      const code = anyKindNamed(row.kind)?.caseOf?.(revision.body);
      if (code !== undefined) found.get(code)?.push(revision);
    }
    return found;
  }

  /** The current documents of one kind that name any of these implants and coupons, in the order of their keys. */
  async namingParts<K extends string>(kind: K, parts: readonly string[]): Promise<StoredRevision<K>[]> {
    const kinds = JSON.stringify(['implant', 'coupon', 'powder-state', kind]);
    const rows = await this.db.ask(this.db.sql.LATEST_AROUND, kinds, JSON.stringify(parts));
    return rows.filter((row) => row.kind === kind).map((row) => withBody({ ...row, kind }));
  }

  /** What takes mass from an entry, by its current revision. */
  async takers(kind: string, key: string): Promise<Taker[]> {
    const rows = await this.db.ask(this.db.sql.TAKERS, ...[kind, key]);
    return rows.map((row) => ({ ...row, body: bodyOf(row.kind, row.digest, row.text) }));
  }

  /** Evidence that revisions name, in their order, and each of them in the order in which it names them. */
  evidenceNamedBy(
    revisions: readonly { readonly kind: string; readonly key: string; readonly revision: number }[],
  ): Promise<NamedEvidence[]> {
    const wanted = JSON.stringify(revisions.map(({ kind, key, revision }) => [kind, key, revision]));
    return this.db.ask(this.db.sql.EVIDENCE_NAMED_BY, wanted);
  }

  /** Stores a revision with its links, and whatever entry is named for the first time. @returns its number. */
  async add(this: Entries<Recorder>, { kind, key, name, reason, ...given }: NewRevision): Promise<number> {
    const { recorder } = this.db;
    const body = canonicalJson(given.body);
    const digest = sha256Hex(body);
    const number = given.number ?? ((await this.current(kind, key))?.revision ?? 0) + 1;
    const entries = new NewEntries(await recorder.nextId('Entry'));
    const idOf = await this.idsOf(
      [{ kind, key }, ...given.links.flatMap(({ to }) => ('evidence' in to ? [] : [to]))],
      entries,
    );
    const entryId = idOf(kind, key);
    const fromRevisionId = await recorder.nextId('Revision');
    const links: NonNullable<NewRows['Link']> = given.links.map(({ name: tie, to, revision, massG, count }) => {
      const target = 'evidence' in to ? { toEvidence: to.evidence } : { toEntryId: idOf(to.kind, to.key) };
      return { fromRevisionId, name: tie, toRevision: revision, massG, count, ...target };
    });
    const why = reason === undefined ? {} : { reason };
    await recorder.record(
      { type: 'revision-recorded', kind, key, revision: number, digest, ...why },
      { Entry: entries.rows, Revision: [{ entryId, number, name, body, digest, reason }], Link: links },
    );
    return number;
  }

  /** Numbers of entries. One that is not there yet gets the next, and is stored with the revision that first names it. */
  private async idsOf(
    names: readonly { readonly kind: string; readonly key: string }[],
    fresh: NewEntries,
  ): Promise<(kind: string, key: string) => number> {
    const unknown = names.filter(({ kind, key }) => !this.ids.has(`${kind} ${key}`));
    if (unknown.length > 0) {
      const asked = JSON.stringify(unknown.map(({ kind, key }) => [kind, key]));
      for (const { kind, key, id } of await this.db.ask(this.db.sql.ENTRY_IDS, asked)) {
        this.ids.set(`${kind} ${key}`, Number(id));
      }
    }
    for (const { kind, key } of unknown) {
      const name = `${kind} ${key}`;
      if (!this.ids.has(name)) this.ids.set(name, fresh.add(kind, key));
    }
    return (kind, key) => this.ids.get(`${kind} ${key}`)!;
  }

  /** Newest first. */
  private async ofEntry<K extends string>(
    kind: K,
    key: string,
    upTo = MOST,
    most = MOST,
  ): Promise<StoredRevision<K>[]> {
    const rows = await this.db.ask(this.db.sql.REVISIONS_OF, kind, key, upTo, most);
    return rows.map((row) => withBody({ ...row, kind }));
  }

  private async asked<K extends string, Bounds extends readonly string[]>(
    question: Question<[kind: string, ...Bounds], RevisionRow>,
    kind: K,
    ...bounds: Bounds
  ): Promise<StoredRevision<K>[]> {
    const rows = await this.db.ask(question, kind, ...bounds);
    return rows.map((row) => withBody({ ...row, kind }));
  }
}

const withBody = <K extends string>(row: Omit<StoredRevision<K>, 'body'>): StoredRevision<K> => ({
  ...row,
  get body() {
    return bodyOf(row.kind, row.digest, row.text);
  },
});

/** Entries that a revision names first, its own among them. */
class NewEntries {
  readonly rows: { readonly kind: string; readonly key: string }[] = [];

  constructor(private readonly firstId: number) {}

  /** @returns the number that it gets. */
  add(kind: string, key: string): number {
    return this.firstId + this.rows.push({ kind, key }) - 1;
  }
}
