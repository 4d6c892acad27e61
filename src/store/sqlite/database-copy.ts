import Database from 'better-sqlite3';
import { HANDED_SHEET } from '../draft-rows.js';

/** Pages copied in one go: between two goes a service answers its pages. */
const PAGES_AT_ONCE = 2000;

/**
 * Copies a database that others go on writing to, as it was at one moment. The copy is one file without a write-ahead
 * log beside it, and nobody is signed in there or has a form half filled in; sheets that wait for a second person are in it.
 * @returns how many entries the audit trail of the copy has.
 */
export async function copyDatabase(source: string, target: string): Promise<number> {
  const database = new Database(source, { readonly: true, timeout: 10_000 });
  try {
    // While this read goes on the copy sees one state; without it, a change by another process would start it afresh.
    database.exec('BEGIN');
    database.prepare('SELECT count(*) FROM sqlite_master').get();
    await database.backup(target, { progress: () => PAGES_AT_ONCE });
  } finally {
    database.close();
  }
  return leaveOutPassing(target);
}

/**
 * Takes out of a copy what is of one moment only: who is signed in, what was typed and not stored, and who does what.
 * @returns how many entries its audit trail has.
 */
export function leaveOutPassing(file: string): number {
  const copy = new Database(file);
  try {
    copy.pragma('journal_mode = DELETE');
    for (const table of ['Session', 'SentForm', 'DraftFile', 'Lease', 'Rate']) copy.exec(`DELETE FROM "${table}"`);
    copy.prepare('DELETE FROM "Draft" WHERE kind <> ?').run(HANDED_SHEET);
    return (copy.prepare('SELECT count(*) AS size FROM "LedgerEntry"').get() as { size: number }).size;
  } finally {
    copy.close();
  }
}
