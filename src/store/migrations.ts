import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { PROGRAM_ROOT } from '../base/settings.js';

export interface Migration {
  readonly name: string;
  readonly sql: string;
  readonly checksum: string;
}

export interface AppliedRow {
  readonly migration_name: string;
  readonly checksum: string;
  readonly finished_at: string | null;
  readonly rolled_back_at: string | null;
}

/** Migrations of an engine, in their order. */
export function migrationsOf(engine: 'sqlite' | 'postgresql'): Migration[] {
  const folder = path.join(PROGRAM_ROOT, 'prisma', 'migrations', engine);
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
