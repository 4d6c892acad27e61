import { randomUUID } from 'node:crypto';
import { AppError } from '../../base/errors.js';
import { type AppliedRow, migrationsOf, pendingMigrations } from '../migrations.js';
import { type Connections, connectTo } from './connection.js';
import { guardedTables, guardFaults, guardStatements } from './guards.js';

/** Two programs that begin at once make the tables once. */
const LOCK = 4_680_680;

/** Same columns as Prisma's own table, so that its tools can read the history. */
const HISTORY_TABLE = `CREATE TABLE IF NOT EXISTS "_prisma_migrations" (
  "id" VARCHAR(36) PRIMARY KEY NOT NULL, "checksum" VARCHAR(64) NOT NULL, "finished_at" TIMESTAMPTZ,
  "migration_name" VARCHAR(255) NOT NULL, "logs" TEXT, "rolled_back_at" TIMESTAMPTZ,
  "started_at" TIMESTAMPTZ NOT NULL DEFAULT now(), "applied_steps_count" INTEGER NOT NULL DEFAULT 0)`;

/** Whether something of the migrations is still to be done; none of them ran where there is no table of them. */
export async function isBehind(sql: Connections): Promise<boolean> {
  return pendingMigrations(migrationsOf('postgresql'), await applied(sql)).length > 0;
}

async function applied(sql: Connections): Promise<AppliedRow[]> {
  const [there] = await sql<{ table: string | null }[]>`SELECT to_regclass('public._prisma_migrations') AS "table"`;
  if (!there?.table) return [];
  return sql<AppliedRow[]>`
    SELECT migration_name, checksum, finished_at::text, rolled_back_at::text FROM "_prisma_migrations"`;
}

/**
 * Brings a database to the newest schema, as the role that owns its tables: all pending migrations, the guards and what the
 * role of the program may, in one transaction.
 * @param role which reads, adds rows, and changes nothing but what changes in place.
 */
export async function migrateAs(owner: string, role: string): Promise<void> {
  const sql = connectTo(owner, { most: 1, readsOnly: false });
  try {
    await sql.begin(async (tx) => {
      await tx`SELECT pg_advisory_xact_lock(${LOCK})`;
      await tx.unsafe(HISTORY_TABLE);
      for (const { name, sql: script, checksum } of pendingMigrations(
        migrationsOf('postgresql'),
        await applied(tx as unknown as Connections),
      )) {
        await tx.unsafe(script).simple();
        await tx`INSERT INTO "_prisma_migrations" (id, checksum, finished_at, migration_name, applied_steps_count)
          VALUES (${randomUUID()}, ${checksum}, now(), ${name}, 1)`;
      }
      for (const table of guardedTables()) {
        for (const guard of ['rows', 'all']) {
          await tx.unsafe(`DROP TRIGGER IF EXISTS "guard_${table}_${guard}" ON "${table}"`);
        }
      }
      for (const statement of guardStatements()) await tx.unsafe(statement);
      await grant(tx as unknown as Connections, role);
    });
  } finally {
    await sql.end();
  }
}

async function grant(tx: Connections, role: string): Promise<void> {
  const guarded = new Set(guardedTables());
  const tables = await tx<{ name: string }[]>`SELECT tablename AS "name" FROM pg_tables WHERE schemaname = 'public'`;
  await tx`GRANT USAGE ON SCHEMA public TO ${tx(role)}`;
  await tx`GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO ${tx(role)}`;
  for (const { name } of tables) {
    await tx`REVOKE ALL ON ${tx(name)} FROM ${tx(role)}`;
    const rights = name.startsWith('_')
      ? 'SELECT'
      : guarded.has(name)
        ? 'SELECT, INSERT'
        : 'SELECT, INSERT, UPDATE, DELETE';
    await tx.unsafe(`GRANT ${rights} ON "${name}" TO "${role.replaceAll('"', '""')}"`);
  }
}

/**
 * Refuses a database on which the guards do not hold, or whose order of texts is another one.
 * @throws AppError CONFLICT for a role that owns tables or may do everything, and for a database that was made otherwise;
 *   ALTERED when guards were tampered with.
 */
export async function checkDatabase(sql: Connections): Promise<void> {
  const [made] = await sql<{ collate: string; encoding: string; owns: boolean; super: boolean; role: string }[]>`
    SELECT d.datcollate AS "collate", pg_encoding_to_char(d.encoding) AS "encoding", current_user AS "role",
      r.rolsuper OR r.rolbypassrls OR r.rolreplication AS "super",
      EXISTS (SELECT 1 FROM pg_tables t WHERE t.schemaname = 'public' AND pg_has_role(current_user, t.tableowner, 'MEMBER')) AS "owns"
    FROM pg_database d JOIN pg_roles r ON r.rolname = current_user WHERE d.datname = current_database()`;
  const refuse = (says: string): never => {
    throw new AppError('CONFLICT', `the database cannot be used: ${says}`);
  };
  const { collate, encoding, owns, super: isSuper, role } = made!;
  if (collate !== 'C' || encoding !== 'UTF8') {
    refuse(
      `make it anew with TEMPLATE template0 LOCALE 'C' ENCODING 'UTF8' (it has ${collate}, ${encoding}): names are in order by their bytes`,
    );
  }
  if (isSuper || owns) {
    refuse(
      `the role ${role} ${isSuper ? 'may do everything' : 'owns its tables'}, so that nothing keeps it from changing what is recorded: name another in LOTWRIGHT_STORE, and the owner in LOTWRIGHT_STORE_OWNER`,
    );
  }
  const faults = (await guardFaults(sql)).map(({ name, what }) => `${name} ${what}`);
  if (faults.length === 0) return;
  throw new AppError(
    'ALTERED',
    `somebody changed the database from outside, its guards are no longer whole: ${faults.join(', ')}; restore a backup`,
    { faults },
  );
}
