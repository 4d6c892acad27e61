import { createHash, randomUUID } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import type Database from 'better-sqlite3';
import { AppError } from '../errors.js';
import { PROGRAM_ROOT } from '../settings.js';

interface Migration {
  readonly name: string;
  readonly sql: string;
  readonly checksum: string;
}

interface AppliedRow {
  readonly migration_name: string;
  readonly checksum: string;
  readonly finished_at: string | null;
  readonly rolled_back_at: string | null;
}

const FOLDER = path.join(PROGRAM_ROOT, 'prisma', 'migrations', 'sqlite');
const GUARDS_FILE = path.join(PROGRAM_ROOT, 'prisma', 'guards.sqlite.sql');

/** Same columns as Prisma's own table, so that its tools can read the history. */
const HISTORY_TABLE = `CREATE TABLE IF NOT EXISTS "_prisma_migrations" (
  "id" TEXT PRIMARY KEY NOT NULL, "checksum" TEXT NOT NULL, "finished_at" DATETIME, "migration_name" TEXT NOT NULL,
  "logs" TEXT, "rolled_back_at" DATETIME, "started_at" DATETIME NOT NULL DEFAULT current_timestamp,
  "applied_steps_count" INTEGER UNSIGNED NOT NULL DEFAULT 0)`;

export function readMigrations(folder: string = FOLDER): Migration[] {
  return fs
    .readdirSync(folder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort()
    .map((name) => {
      const sql = fs.readFileSync(path.join(folder, name, 'migration.sql'), 'utf8');
      return { name, sql, checksum: createHash('sha256').update(sql).digest('hex') };
    });
}

/** What is still to be applied. Refuses a database that another program, or an edited migration, has shaped. */
export function pendingMigrations(migrations: readonly Migration[], rows: readonly AppliedRow[]): Migration[] {
  const done = rows.filter((row) => row.rolled_back_at === null);
  const refuse = (message: string): never => {
    throw new AppError('CONFLICT', `the database cannot be used: ${message}`);
  };
  for (const row of done) {
    const known = migrations.find((migration) => migration.name === row.migration_name);
    if (row.finished_at === null) refuse(`migration ${row.migration_name} did not finish; restore a backup`);
    if (!known) refuse(`it was written by a newer program (migration ${row.migration_name}); use that program`);
    if (known && known.checksum !== row.checksum) refuse(`migration ${row.migration_name} was edited after it ran`);
  }
  const names = new Set(done.map((row) => row.migration_name));
  const pending = migrations.filter((migration) => !names.has(migration.name));
  const late = pending.find((migration) => done.some((row) => row.migration_name > migration.name));
  if (late) refuse(`migration ${late.name} is older than one that already ran`);
  return pending;
}

const nowText = (): string => new Date().toISOString().replace('Z', '+00:00');

/**
 * Brings a database to the newest schema, one transaction for each migration, and puts the guards in place.
 * @returns names of the migrations that were applied.
 */
export function migrate(db: Database.Database, migrations: readonly Migration[] = readMigrations()): string[] {
  const applied: string[] = [];
  // A no-op inside a transaction, so set before: a table rebuild must not fire ON DELETE actions.
  db.pragma('foreign_keys = OFF');
  try {
    for (;;) {
      const name = applyNext(db, migrations);
      if (name === undefined) return applied;
      applied.push(name);
    }
  } finally {
    db.pragma('foreign_keys = ON');
  }
}

function applyNext(db: Database.Database, migrations: readonly Migration[]): string | undefined {
  return db
    .transaction(() => {
      db.exec(HISTORY_TABLE);
      const rows = db
        .prepare('SELECT migration_name, checksum, finished_at, rolled_back_at FROM "_prisma_migrations"')
        .all() as AppliedRow[];
      const [next] = pendingMigrations(migrations, rows);
      if (!next) {
        if (guardsDiffer(db)) recreateGuards(db);
        return undefined;
      }
      const startedAt = nowText();
      dropGuards(db);
      db.exec(next.sql);
      const broken = db.pragma('foreign_key_check') as unknown[];
      if (broken.length > 0) throw new AppError('CONFLICT', `${next.name} would break ${broken.length} references`);
      db.prepare(
        `INSERT INTO "_prisma_migrations" (id, checksum, finished_at, migration_name, started_at, applied_steps_count)
         VALUES (?, ?, ?, ?, ?, 1)`,
      ).run(randomUUID(), next.checksum, nowText(), next.name, startedAt);
      return next.name;
    })
    .immediate();
}

const wantedGuards = (): string[] =>
  fs
    .readFileSync(GUARDS_FILE, 'utf8')
    .split('\n')
    .filter((line) => line.startsWith('CREATE TRIGGER'))
    .map((line) => line.replace(/;$/, ''))
    .sort();

const presentGuards = (db: Database.Database): { name: string; sql: string }[] =>
  db.prepare("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY sql").all() as {
    name: string;
    sql: string;
  }[];

/** Whether a guard is missing, changed, or a trigger is there that should not be. */
export function guardsDiffer(db: Database.Database): boolean {
  return (
    presentGuards(db)
      .map((guard) => guard.sql)
      .sort()
      .join('\n') !== wantedGuards().join('\n')
  );
}

function dropGuards(db: Database.Database): void {
  for (const { name } of presentGuards(db)) db.exec(`DROP TRIGGER "${name}"`);
}

function recreateGuards(db: Database.Database): void {
  dropGuards(db);
  for (const sql of wantedGuards()) db.exec(sql);
}
