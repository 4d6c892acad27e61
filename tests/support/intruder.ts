import { createPublicKey, generateKeyPairSync, type KeyObject, sign } from 'node:crypto';
import path from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import Database from 'better-sqlite3';
import postgres from 'postgres';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { fingerprintOf } from '../../src/dossier/public-key.js';
import { namedFirst, type SignedStatement, type Statement } from '../../src/dossier/statement.js';
import { checkpointText, signatureOf, writeNote } from '../../src/ledger/checkpoint.js';
import type { LedgerDraft } from '../../src/ledger/entry.js';
import { type Event, subjectOfEvent } from '../../src/ledger/event.js';
import { successionText } from '../../src/ledger/key-chain.js';
import { followingValue } from '../../src/ledger/recorded-rows.js';
import { actText } from '../../src/ledger/signed-acts.js';
import { GrowingTree, leafHash } from '../../src/ledger/tree.js';
import { columnsOf } from '../../src/store/postgresql/recorded-tables.js';
import { snapshot } from '../../src/store/postgresql/snapshot.js';
import { newRowsText } from '../../src/store/recorded-table.js';
import { recordedTablesOf } from '../../src/store/sqlite/recorded-tables.js';
import { temporaryFolder } from './cell.js';
import { superuserOf } from './run-on-server.js';

/** What an intruder can do who has the database: raw SQL, with every trigger dropped and put back afterwards. */
export type Sql = Database.Database;

/**
 * Lets an intruder at the rows of a data folder. On a server it is one who may do everything there: they work on a copy in a
 * file, so that an attack is written once, and what is other in it by then is put in the place of what was there.
 */
export async function attackDatabase(folder: string, work: (sql: Sql) => void): Promise<void> {
  const server = superuserOf(folder);
  if (server === undefined) attackFile(path.join(folder, 'lotwright.sqlite'), work);
  else await attackServer(server, work);
}

function attackFile(file: string, work: (sql: Sql) => void): void {
  const sql = new Database(file);
  sql.pragma('foreign_keys = OFF');
  const triggers = sql.prepare("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all() as {
    name: string;
    sql: string;
  }[];
  for (const { name } of triggers) sql.exec(`DROP TRIGGER "${name}"`);
  work(sql);
  for (const trigger of triggers) sql.exec(trigger.sql);
  sql.close();
}

async function attackServer(server: string, work: (sql: Sql) => void): Promise<void> {
  const file = path.join(temporaryFolder('attacked'), 'rows.sqlite');
  const on = postgres(server, {
    max: 1,
    onnotice: () => {},
    // No trigger runs, and nothing refers to anything.
    connection: { session_replication_role: 'replica' },
  });
  try {
    await snapshot(on, file);
    const before = rowsOf(file);
    attackFile(file, work);
    const columns = await columnsOf(on);
    for (const [table, rows] of rowsOf(file)) {
      if (isDeepStrictEqual(rows, before.get(table))) continue;
      await on`DELETE FROM ${on(table)}`;
      const booleans = columns.filter((one) => one.table === table && one.type === 'boolean').map(({ name }) => name);
      for (const row of rows) {
        for (const name of booleans) row[name] = Number(row[name]) === 1;
        await on`INSERT INTO ${on(table)} ${on(row as never)}`;
      }
    }
  } finally {
    await on.end();
  }
}

/** All rows of a file by table, in their order. */
function rowsOf(file: string): Map<string, Record<string, unknown>[]> {
  const sql = new Database(file, { readonly: true });
  const tables = sql
    .prepare(
      `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE '\\_%' ESCAPE '\\'`,
    )
    .pluck()
    .all() as string[];
  const found = tables.map((table) => {
    const rows = sql.prepare(`SELECT * FROM "${table}" ORDER BY rowid`).safeIntegers().all();
    return [table, rows as Record<string, unknown>[]] as const;
  });
  sql.close();
  return new Map(found);
}

/** Makes the whole tree anew over the entries as they are, as a careful intruder would: leaves, nodes and size. */
export function hashAgain(sql: Sql): { size: number; root: string } {
  const tree = new GrowingTree();
  sql.exec('DELETE FROM "LedgerNode"');
  const entries = sql.prepare('SELECT seq, body FROM "LedgerEntry" ORDER BY seq').all() as {
    seq: number;
    body: string;
  }[];
  for (const { seq, body } of entries) {
    const leaf = leafHash(body);
    sql.prepare('UPDATE "LedgerEntry" SET leaf = ? WHERE seq = ?').run(leaf, seq);
    for (const { level, index, hash } of tree.add(leaf)) {
      sql.prepare('INSERT INTO "LedgerNode" VALUES (?, ?, ?)').run(level, index, hash);
    }
  }
  sql.prepare('UPDATE "LedgerLock" SET size = ?').run(tree.size);
  return { size: tree.size, root: tree.root() };
}

/** A key of the intruder's own, and what it signs. */
export class OwnKey {
  private readonly key: KeyObject = generateKeyPairSync('ed25519').privateKey;
  readonly publicPem: string;
  readonly fingerprint: string;

  constructor() {
    this.publicPem = publicPemOf(this.key);
    this.fingerprint = fingerprintOf(this.publicPem);
  }

  sign(text: string): string {
    return sign(null, Buffer.from(text, 'utf8'), this.key).toString('base64');
  }

  /** An event that names it as the key after another, with everything that it can say of itself. */
  named(replaces: string, persons?: string[]): Extract<Event, { type: 'key-made' }> {
    const { fingerprint, publicPem } = this;
    const succession = { replaces, fingerprint, ...(persons ? { persons } : {}) };
    const signature = this.sign(successionText(succession));
    const vouched = persons ? {} : { endorsement: signature };
    return { type: 'key-made', purpose: 'installation', publicPem, ...succession, ...vouched, acceptance: signature };
  }

  statement(statement: Statement): SignedStatement {
    const text = canonicalJson({ ...statement, installation: this.fingerprint });
    const signature = this.sign(text);
    return { statement: JSON.parse(text), digest: sha256Hex(text), personSignature: signature, signature };
  }

  /** Hashes everything again, and signs the head of it with this key. */
  signHead(sql: Sql): void {
    const { size, root } = hashAgain(sql);
    const head = sql.prepare('SELECT head FROM "LedgerLock"').pluck().get() as string;
    const origin = head.split('\n')[0]!;
    const text = checkpointText({ origin, size, root });
    const signature = signatureOf({ name: origin, publicPem: this.publicPem }, Buffer.from(this.sign(text), 'base64'));
    sql.prepare('UPDATE "LedgerLock" SET head = ?').run(writeNote({ text, signatures: [signature] }));
  }
}

const publicPemOf = (key: KeyObject): string => createPublicKey(key).export({ type: 'spki', format: 'pem' }).toString();

export function forgeEvent(sql: Sql, event: Event, place = placeIn(sql)): void {
  const subject = subjectOfEvent(event);
  const row = { type: event.type, subjectKind: subject.kind, subjectKey: subject.key, body: canonicalJson(event) };
  forge(sql, { type: 'event-recorded', event: event.type, subject }, { Event: [row] }, place);
}

/**
 * An act in the name of a person.
 * @param sign what the intruder puts beneath it, from the text that the person would have signed.
 * @param moment at which it says that it was done; otherwise that of the last entry.
 */
export function forgeAct(
  sql: Sql,
  event: Event,
  actor: string,
  sign: (text: string) => { person: string; key: string; signature: string }[],
  moment: { at?: string } = {},
): void {
  const place = { ...placeIn(sql), ...moment, actor };
  const signatures = sign(actText({ event, ledgerSeq: place.seq, ...place, reason: null }));
  forgeEvent(sql, { ...event, ...(signatures.length > 0 ? { signatures } : {}) } as Event, place);
}

export function forgeStatement(sql: Sql, { statement, digest, ...signatures }: SignedStatement): void {
  const { meaning, subjects } = statement;
  const person = statement.person.code;
  const text = canonicalJson(statement);
  forge(
    sql,
    { type: 'statement-signed', meaning, subject: namedFirst(statement), subjects: subjects.length, person, digest },
    {
      Signature: [{ digest, meaning, person, statement: text, ...signatures }],
      SignatureSubject: subjects.map((subject) => ({ ...subject, signature: digest })),
    },
  );
}

/** Behind the last entry, as if the same had gone on. */
function placeIn(sql: Sql) {
  const last = sql.prepare('SELECT seq, body FROM "LedgerEntry" ORDER BY seq DESC').get() as {
    seq: number;
    body: string;
  };
  const { at, offset, actor } = JSON.parse(last.body) as { at: string; offset: string; actor: string };
  return { seq: last.seq + 1, at, offset, actor };
}

/** Appends an entry with its rows as the program would, but for the head. */
function forge(
  sql: Sql,
  draft: LedgerDraft,
  rows: Record<string, Record<string, unknown>[]>,
  place = placeIn(sql),
): void {
  const tables: Record<string, unknown> = {};
  for (const [name, list] of Object.entries(rows)) {
    const table = recordedTablesOf(sql).find((item) => item.name === name)!;
    const isNumbered = table.following.includes('id');
    const first = isNumbered
      ? (sql.prepare(`SELECT coalesce(max(id), 0) + 1 FROM "${name}"`).pluck().get() as number)
      : 0;
    const text = newRowsText(table, list);
    sql.prepare(table.insert).run(...table.following.map((column) => followingValue(column, place, first)), text);
    tables[name] = { rows: list.length, sha256: sha256Hex(text), ...(isNumbered ? { first } : {}) };
  }
  const body = canonicalJson({ ...draft, version: 1, ...place, tables });
  sql.prepare('INSERT INTO "LedgerEntry" VALUES (?, ?, ?)').run(place.seq, body, leafHash(body));
}
