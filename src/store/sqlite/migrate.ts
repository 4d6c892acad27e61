import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import type Database from 'better-sqlite3';
import { AppError } from '../../base/errors.js';
import { PROGRAM_ROOT } from '../../base/settings.js';
import type { SchemaFault } from '../../ledger/stored-fault.js';
import { type AppliedRow, type Migration, migrationsOf, pendingMigrations } from '../migrations.js';

const GUARDS_FILE = path.join(PROGRAM_ROOT, 'prisma', 'guards.sqlite.sql');

/** Same columns as Prisma's own table, so that its tools can read the history. */
const HISTORY_TABLE = `CREATE TABLE IF NOT EXISTS "_prisma_migrations" (
  "id" TEXT PRIMARY KEY NOT NULL, "checksum" TEXT NOT NULL, "finished_at" DATETIME, "migration_name" TEXT NOT NULL,
  "logs" TEXT, "rolled_back_at" DATETIME, "started_at" DATETIME NOT NULL DEFAULT current_timestamp,
  "applied_steps_count" INTEGER UNSIGNED NOT NULL DEFAULT 0)`;

const nowText = (): string => new Date().toISOString().replace('Z', '+00:00');

/**
 * Brings a database to the newest schema: all pending migrations and the guards in one transaction, so that no moment
 * without guards can outlive a crash. A database that is up to date must have exactly the guards of this program.
 * @returns names of the migrations that were applied.
 * @throws AppError CONFLICT when program and database do not belong together, ALTERED when guards were tampered with.
 */
export function migrate(db: Database.Database, migrations: readonly Migration[] = migrationsOf('sqlite')): string[] {
  // A no-op inside a transaction, so set before: a table rebuild must not fire ON DELETE actions.
  db.pragma('foreign_keys = OFF');
  try {
    return db.transaction(() => applyPending(db, migrations)).immediate();
  } finally {
    db.pragma('foreign_keys = ON');
  }
}

function applyPending(db: Database.Database, migrations: readonly Migration[]): string[] {
  db.exec(HISTORY_TABLE);
  const pending = pendingMigrations(migrations, appliedTo(db));
  if (pending.length === 0) {
    checkGuards(db);
    return [];
  }
  dropTriggers(db);
  for (const migration of pending) apply(db, migration);
  const broken = db.pragma('foreign_key_check') as unknown[];
  if (broken.length > 0) {
    throw new AppError(
      'CONFLICT',
      `the database cannot be brought up to date: ${broken.length} references would break`,
    );
  }
  for (const sql of expectedGuards().values()) db.exec(sql);
  return pending.map((migration) => migration.name);
}

const appliedTo = (db: Database.Database): AppliedRow[] =>
  db
    .prepare('SELECT migration_name, checksum, finished_at, rolled_back_at FROM "_prisma_migrations"')
    .all() as AppliedRow[];

function apply(db: Database.Database, { name, sql, checksum }: Migration): void {
  const startedAt = nowText();
  db.exec(sql);
  db.prepare(
    `INSERT INTO "_prisma_migrations" (id, checksum, finished_at, migration_name, started_at, applied_steps_count)
     VALUES (?, ?, ?, ?, ?, 1)`,
  ).run(randomUUID(), checksum, nowText(), name, startedAt);
}

/** Trigger name → the statement that makes it, as the guards file has it. */
function expectedGuards(): Map<string, string> {
  const lines = fs.readFileSync(GUARDS_FILE, 'utf8').split('\n');
  const statements = lines.filter((line) => line.startsWith('CREATE TRIGGER')).map((line) => line.replace(/;$/, ''));
  return new Map(statements.map((sql) => [/"(\w+)"/.exec(sql)![1]!, sql]));
}

function presentTriggers(db: Database.Database): Map<string, string> {
  const rows = db.prepare("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all();
  return new Map((rows as { name: string; sql: string }[]).map((row) => [row.name, row.sql]));
}

function dropTriggers(db: Database.Database): void {
  for (const name of presentTriggers(db).keys()) db.exec(`DROP TRIGGER "${name}"`);
}

type NamedFault = Exclude<SchemaFault, { readonly what: 'history' }>;

const named = (name: string, what: NamedFault['what']): NamedFault => ({ what, name });

/** Each guard that is missing or changed, and each trigger that is not ours. */
export function guardFaults(db: Database.Database): NamedFault[] {
  const expected = expectedGuards();
  const present = presentTriggers(db);
  return [
    ...[...expected].filter(([name]) => !present.has(name)).map(([name]) => named(name, 'is missing')),
    ...[...expected]
      .filter(([name, sql]) => (present.get(name) ?? sql) !== sql)
      .map(([name]) => named(name, 'was changed')),
    ...[...present.keys()].filter((name) => !expected.has(name)).map((name) => named(name, 'is not one of ours')),
  ];
}

/**
 * Each table and index that is not as the migrations of this program make it, and what it says of migrations itself.
 * @param fresh an empty database, which gets them.
 */
export function schemaFaults(db: Database.Database, fresh: Database.Database): SchemaFault[] {
  return [...changedTables(db, fresh), ...historyFault(db)];
}

function historyFault(db: Database.Database): SchemaFault[] {
  try {
    const [late] = pendingMigrations(migrationsOf('sqlite'), appliedTo(db));
    return late ? [named(late.name, 'did not run')] : [];
  } catch (error) {
    return [{ what: 'history', message: (error as Error).message }];
  }
}

function changedTables(db: Database.Database, fresh: Database.Database): NamedFault[] {
  migrate(fresh);
  const expected = schemaOf(fresh);
  const present = schemaOf(db);
  return [...new Set([...expected.keys(), ...present.keys()])]
    .filter((name) => expected.get(name) !== present.get(name))
    .map((name) => named(name, present.has(name) ? 'was changed' : 'is missing'));
}

/** Name of each table and index → the statement that makes it. */
function schemaOf(db: Database.Database): Map<string, string> {
  const rows = db.prepare("SELECT name, tbl_name, sql FROM sqlite_master WHERE type <> 'trigger'").all();
  return new Map(
    (rows as { name: string; tbl_name: string; sql: string | null }[]).map((row) => [
      row.name,
      `${row.tbl_name} ${row.sql}`,
    ]),
  );
}

/** @throws AppError ALTERED when the guards are not those of this program. */
function checkGuards(db: Database.Database): void {
  const faults = guardFaults(db).map(({ name, what }) => `${name} ${what}`);
  if (faults.length === 0) return;
  throw new AppError(
    'ALTERED',
    `somebody changed the database from outside, its guards are no longer whole: ${faults.join(', ')}; restore a backup`,
    { faults },
  );
}
