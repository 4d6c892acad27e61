import { bodyOf } from './bodies.js';
import type { Db } from './db.js';
import type { IdentifiedRow } from './questions.js';

/** The beginning of a digest, long enough that it is no number of something by chance. */
const DIGITS = /^[0-9a-f]{8,64}$/i;

/** What bears an identifier that is not its own key: in a field of its document, as a file, by the first digits of a digest. */
export class Identified {
  constructor(private readonly db: Db) {}

  /** Current documents of some kinds that hold a text as a value, wherever in them. */
  async holding(kinds: readonly string[], text: string) {
    const rows = await this.db.ask(this.db.sql.ENTRIES_HOLDING, JSON.stringify(kinds), JSON.stringify(text));
    return rows.map((row) => ({ ...row, body: (): unknown => bodyOf(row.kind, row.digest, row.text) }));
  }

  /** What a text names as a file, a record or a program, or of what it is the beginning of the digest. */
  by(text: string): Promise<IdentifiedRow[]> {
    const digits = DIGITS.test(text) ? text.toLowerCase() : '';
    const before = digits === '' ? '' : this.db.sql.boundsOfStart(digits).before;
    return this.db.ask(this.db.sql.IDENTIFIED_BY, text, digits, before);
  }

  /** Current documents of entries, by their numbers. */
  async documents(ids: readonly number[]): Promise<Map<number, { readonly kind: string; body(): unknown }>> {
    const rows = await this.db.ask(this.db.sql.LATEST_OF_IDS, JSON.stringify(ids));
    return new Map(
      rows.map(({ id, kind, digest, text }) => [Number(id), { kind, body: () => bodyOf(kind, digest, text) }]),
    );
  }
}
