import Database from 'better-sqlite3';
import type { Services } from './services.js';

/** Every revision of every entry with its digest and its ties. The text of a document may be written in several ways. */
export function storedIn({ store }: Services): string[] {
  const db = new Database(store.folder.database, { readonly: true });
  try {
    return db
      .prepare(`
        SELECT e.kind, e.key, r.number, r.name, r.digest, l.name AS tie, t.kind AS toKind, t.key AS toKey, l.toRevision,
          l.massG, l.count, l.toEvidence
        FROM Revision r JOIN Entry e ON e.id = r.entryId
        LEFT JOIN Link l ON l.fromRevisionId = r.id AND l.name <> 'document as received'
        LEFT JOIN Entry t ON t.id = l.toEntryId
        ORDER BY e.kind, e.key, r.number, l.name, t.kind, t.key, l.toEvidence`)
      .all()
      .map((row) => JSON.stringify(row));
  } finally {
    db.close();
  }
}
