// Development tool: writes the next migration and the guards from prisma/schema.prisma, without server or network.
// usage: node scripts/write-migration.mjs NAME
//        node scripts/write-migration.mjs --check    exits 1 when schema, migrations and guards do not belong together
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { bindMigrationAwareSqlAdapterFactory } from '@prisma/driver-adapter-utils';
import * as glue from '@prisma/schema-engine-wasm/schema_engine_bg';
import Database from 'better-sqlite3';
import { postgresqlSchema, ROOT } from './ensure.mjs';

/** Tables that change in place. Every other one is append-only. */
const MUTABLE = new Set([
  'LedgerLock',
  'Session',
  'Lockout',
  'SentForm',
  'Draft',
  'DraftFile',
  'ScanJob',
  'Lease',
  'Rate',
  'Generation',
  'HistorySum',
  'KeptView',
  'KeptTopic',
]);

/** Of each engine: what its schema says, how a script of the differ becomes ours, and the guards that its tables need. */
const ENGINES = [
  { name: 'sqlite', ofSchema: (schema) => schema, ofScript: (sql) => sql, guards: sqliteGuards },
  { name: 'postgresql', ofSchema: postgresqlSchema, ofScript: inLargeNumbers, guards: postgresqlGuards },
];

const folderOf = ({ name }) => path.join(ROOT, 'prisma', 'migrations', name);
const snapshotOf = (engine) => path.join(folderOf(engine), 'schema.snapshot.prisma');
const guardsOf = ({ name }) => path.join(ROOT, 'prisma', `guards.${name}.sql`);

/** Whole numbers of SQLite have 64 bits, and sizes of files need them: with 32, a long log would be refused. */
function inLargeNumbers(sql) {
  return sql.replaceAll(/\bINTEGER\b/g, 'BIGINT').replaceAll(/\bSERIAL\b/g, 'BIGSERIAL');
}

let instantiated;

/** The differ, as WebAssembly: twice in one process would corrupt its memory. */
function differ() {
  instantiated ??= (async () => {
    // Without this registry a panic of the engine hides behind a TypeError.
    globalThis.PRISMA_WASM_PANIC_REGISTRY ??= { set_message: (message) => console.error('schema engine:', message) };
    const entry = createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm/schema_engine_bg');
    const wasm = fs.readFileSync(path.join(path.dirname(entry), 'schema_engine_bg.wasm'));
    const { instance } = await WebAssembly.instantiate(wasm, { './schema_engine_bg.js': glue });
    glue.__wbg_set_wasm(instance.exports);
    instance.exports.__wbindgen_start();
  })();
  return instantiated;
}

async function diffSql(from, to) {
  await differ();
  // No server is asked: any adapter will do, whatever the engine of the schema.
  const adapter = bindMigrationAwareSqlAdapterFactory(new PrismaBetterSqlite3({ url: ':memory:' }));
  const engine = await glue.SchemaEngine.new({ datamodels: [['schema.prisma', to]] }, () => {}, adapter);
  const target = (schema) =>
    schema === null
      ? { tag: 'empty' }
      : { tag: 'schemaDatamodel', files: [{ path: 'schema.prisma', content: schema }] };
  const filters = { externalTables: [], externalEnums: [] };
  const answer = await engine.diff({ from: target(from), to: target(to), script: true, exitCode: null, filters });
  return answer.stdout ?? '';
}

/** Triggers that refuse UPDATE, DELETE, and INSERT of an existing key: INSERT OR REPLACE fires neither of the first two. */
function guardsFor(db) {
  const tables = db
    .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
    .all()
    .map((row) => row.name)
    .filter((name) => !MUTABLE.has(name) && !name.startsWith('_'));
  return tables.flatMap((table) => guardsOfTable(db, table)).join('\n');
}

function guardsOfTable(db, table) {
  const primary = db.pragma(`table_info("${table}")`).filter((column) => column.pk > 0);
  const unique = db
    .pragma(`index_list("${table}")`)
    .filter((index) => index.unique === 1 && index.origin !== 'pk')
    .map((index) => db.pragma(`index_info("${index.name}")`).map((column) => `"${column.name}"`));
  const keys = [primary.map((column) => `"${column.name}"`), ...unique];
  // A key that is not one whole number leaves a hidden row number, and REPLACE removes the row that has it.
  if (primary.length > 1 || primary[0].type !== 'INTEGER') keys.push(['rowid']);
  const sameKey = keys
    .map((columns) => `(${columns.map((column) => `${column} = NEW.${column}`).join(' AND ')})`)
    .join(' OR ');
  const refuse = (what) => `SELECT RAISE(ABORT, '${table} is append-only: ${what} refused')`;
  return [
    `CREATE TRIGGER "guard_${table}_update" BEFORE UPDATE ON "${table}" BEGIN ${refuse('update')}; END;`,
    `CREATE TRIGGER "guard_${table}_delete" BEFORE DELETE ON "${table}" BEGIN ${refuse('delete')}; END;`,
    `CREATE TRIGGER "guard_${table}_insert" BEFORE INSERT ON "${table}" WHEN EXISTS (SELECT 1 FROM "${table}" WHERE ${sameKey}) BEGIN ${refuse('insert of an existing key')}; END;`,
  ];
}

const HEAD = '-- Written by scripts/write-migration.mjs. Applying migrations drops these and recreates them.\n';

/** The migrations of an engine, in their order. */
function migrationsOf(engine) {
  const folder = folderOf(engine);
  const entries = fs.readdirSync(folder, { withFileTypes: true }).filter((item) => item.isDirectory());
  return entries
    .map((item) => item.name)
    .sort()
    .map((name) => fs.readFileSync(path.join(folder, name, 'migration.sql'), 'utf8'));
}

/** All migrations run one after the other on an empty database, and the guards that its tables need. */
function sqliteGuards(engine) {
  const db = new Database(':memory:');
  for (const sql of migrationsOf(engine)) db.exec(sql);
  return `${HEAD}${guardsFor(db)}\n`;
}

/** One function, and for each table what refuses a change of its rows and their removal all at once. */
function postgresqlGuards(engine) {
  const made = migrationsOf(engine).flatMap((sql) =>
    [...sql.matchAll(/^CREATE TABLE "(\w+)"/gm)].map(([, name]) => name),
  );
  const tables = [...new Set(made)].sort().filter((name) => !MUTABLE.has(name));
  const lines = tables.flatMap((name) => [
    `CREATE TRIGGER "guard_${name}_rows" BEFORE UPDATE OR DELETE ON "${name}" FOR EACH ROW EXECUTE FUNCTION refuse_change();`,
    `CREATE TRIGGER "guard_${name}_all" BEFORE TRUNCATE ON "${name}" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();`,
  ]);
  const refuse = `CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, lower(TG_OP); END $$;`;
  return `${HEAD}${[refuse, ...lines].join('\n')}\n`;
}

const readIfThere = (file) => (fs.existsSync(file) ? fs.readFileSync(file, 'utf8') : null);

function check(source) {
  const problems = ENGINES.flatMap((engine) => [
    ...(readIfThere(snapshotOf(engine)) === engine.ofSchema(source)
      ? []
      : [`${engine.name}: the schema has changed since the last migration`]),
    ...(readIfThere(guardsOf(engine)) === engine.guards(engine)
      ? []
      : [`${engine.name}: the guards are not those of the migrations`]),
  ]);
  for (const problem of problems) console.error(`${problem}: run node scripts/write-migration.mjs NAME`);
  return problems.length === 0;
}

async function write(engine, source, name) {
  const [folder, snapshotFile, guardsFile] = [folderOf(engine), snapshotOf(engine), guardsOf(engine)];
  fs.mkdirSync(folder, { recursive: true });
  const schema = engine.ofSchema(source);
  const diff = engine.ofScript(await diffSql(readIfThere(snapshotFile), schema));
  const changed = diff.trim() !== '' && !diff.startsWith('-- This is an empty migration');
  const id = `${new Date().toISOString().replace(/\D/g, '').slice(0, 14)}_${name.replace(/\W+/g, '_')}`;
  if (changed) {
    writeMigration(folder, id, diff);
    fs.writeFileSync(snapshotFile, schema);
  }
  const guards = engine.guards(engine);
  if (guards === readIfThere(guardsFile)) return;
  // Other guards alone need a migration too: a database is refused when its guards are not the expected ones.
  if (!changed) writeMigration(folder, id, '-- The tables stay as they are. The guards are written anew.\n');
  fs.writeFileSync(guardsFile, guards);
}

function writeMigration(folder, id, sql) {
  fs.mkdirSync(path.join(folder, id));
  fs.writeFileSync(path.join(folder, id, 'migration.sql'), sql);
  console.log(`wrote ${id}`);
}

const [argument] = process.argv.slice(2);
const schema = fs.readFileSync(path.join(ROOT, 'prisma', 'schema.prisma'), 'utf8');
if (argument === undefined) {
  console.error('usage: node scripts/write-migration.mjs NAME | --check');
  process.exit(2);
}
if (argument === '--check') process.exit(check(schema) ? 0 : 1);
for (const engine of ENGINES) await write(engine, schema, argument);
