import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

/** Kind under which a sheet is kept that waits for a second person: it does not go by itself. */
export const HANDED_SHEET = 'handed-sheet';

/** What a person typed into a form and did not store yet. Times are those of the machine, also in a demo folder. */
export interface DraftRow {
  readonly name: string;
  readonly person: string;
  /** Of the document that the form makes. */
  readonly kind: string;
  /** JSON of what stands in the form, by the names of its fields. */
  readonly fields: string;
  readonly changedAt: string;
}

/** A file that was chosen in a form. */
export interface DraftFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Forms under way. The tables change in place, and make no entry in the audit trail: what is stored of them does. */
export class DraftRows<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  async byName(name: string): Promise<DraftRow | null> {
    return (await this.db.ask(this.db.sql.DRAFT, name))[0] ?? null;
  }

  /** The last one first. */
  ofPerson(person: string): Promise<DraftRow[]> {
    return this.db.ask(this.db.sql.DRAFTS_OF, person, HANDED_SHEET);
  }

  /** Of all people, the one that was kept first at the head. */
  ofKind(kind: string): Promise<DraftRow[]> {
    return this.db.ask(this.db.sql.DRAFTS_OF_KIND, kind);
  }

  async files(draft: string): Promise<DraftFile[]> {
    return (await this.db.client()).draftFile.findMany({
      where: { draft },
      orderBy: { name: 'asc' },
      select: { name: true, bytes: true },
    });
  }

  async file(draft: string, name: string): Promise<DraftFile | null> {
    return (await this.db.client()).draftFile.findUnique({
      where: { draft_name: { draft, name } },
      select: { name: true, bytes: true },
    });
  }

  async fileNames(draft: string): Promise<string[]> {
    return (await this.db.ask(this.db.sql.DRAFT_FILE_NAMES, draft)).map(({ name }) => name);
  }

  async keep(this: DraftRows<Recorder>, row: DraftRow): Promise<void> {
    await (await this.db.client()).draft.upsert({ where: { name: row.name }, create: row, update: row });
  }

  async keepFile(this: DraftRows<Recorder>, draft: string, { name, bytes }: DraftFile): Promise<void> {
    const data = { draft, name, bytes: Uint8Array.from(bytes) };
    await (await this.db.client()).draftFile.upsert({
      where: { draft_name: { draft, name } },
      create: data,
      update: data,
    });
  }

  async drop(this: DraftRows<Recorder>, name: string): Promise<void> {
    await (await this.db.client()).draft.deleteMany({ where: { name } });
  }

  async dropOlder(this: DraftRows<Recorder>, changedBefore: string): Promise<void> {
    const kind = { not: HANDED_SHEET };
    await (await this.db.client()).draft.deleteMany({ where: { kind, changedAt: { lt: changedBefore } } });
  }
}
