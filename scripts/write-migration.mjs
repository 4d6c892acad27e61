// Development tool: writes the next migration and the guards from prisma/schema.prisma, without server or network.
// usage: npm run migration -- NAME
import fs from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { PrismaBetterSqlite3 } from '@prisma/adapter-better-sqlite3';
import { bindMigrationAwareSqlAdapterFactory } from '@prisma/driver-adapter-utils';
import * as glue from '@prisma/schema-engine-wasm/schema_engine_bg';
import Database from 'better-sqlite3';

/** Tables that change in place. Every other one is append-only. */
const MUTABLE = new Set(['LedgerLock']);

const root = path.dirname(path.dirname(new URL(import.meta.url).pathname));
const folder = path.join(root, 'prisma', 'migrations', 'sqlite');
const snapshotFile = path.join(folder, 'schema.snapshot.prisma');

async function diffSql(from, to) {
  // Without this registry a panic of the engine hides behind a TypeError.
  globalThis.PRISMA_WASM_PANIC_REGISTRY ??= { set_message: (message) => console.error('schema engine:', message) };
  const entry = createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm/schema_engine_bg');
  const wasm = fs.readFileSync(path.join(path.dirname(entry), 'schema_engine_bg.wasm'));
  const { instance } = await WebAssembly.instantiate(wasm, { './schema_engine_bg.js': glue });
  glue.__wbg_set_wasm(instance.exports);
  instance.exports.__wbindgen_start();
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
export function guardsFor(db) {
  const tables = db
    .prepare("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
    .all()
    .map((row) => row.name)
    .filter((name) => !MUTABLE.has(name) && !name.startsWith('_'));
  return tables.flatMap((table) => guardsOfTable(db, table)).join('\n');
}

function guardsOfTable(db, table) {
  const primary = db
    .pragma(`table_info("${table}")`)
    .filter((column) => column.pk > 0)
    .map((column) => column.name);
  const unique = db
    .pragma(`index_list("${table}")`)
    .filter((index) => index.unique === 1 && index.origin !== 'pk')
    .map((index) => db.pragma(`index_info("${index.name}")`).map((column) => column.name));
  const sameKey = [primary, ...unique]
    .map((columns) => `(${columns.map((column) => `"${column}" = NEW."${column}"`).join(' AND ')})`)
    .join(' OR ');
  const refuse = (what) => `SELECT RAISE(ABORT, '${table} is append-only: ${what} refused')`;
  return [
    `CREATE TRIGGER "guard_${table}_update" BEFORE UPDATE ON "${table}" BEGIN ${refuse('update')}; END;`,
    `CREATE TRIGGER "guard_${table}_delete" BEFORE DELETE ON "${table}" BEGIN ${refuse('delete')}; END;`,
    `CREATE TRIGGER "guard_${table}_insert" BEFORE INSERT ON "${table}" WHEN EXISTS (SELECT 1 FROM "${table}" WHERE ${sameKey}) BEGIN ${refuse('insert of an existing key')}; END;`,
  ];
}

const name = process.argv[2];
if (!name) {
  console.error('usage: npm run migration -- NAME');
  process.exit(2);
}
fs.mkdirSync(folder, { recursive: true });
const schema = fs.readFileSync(path.join(root, 'prisma', 'schema.prisma'), 'utf8');
const snapshot = fs.existsSync(snapshotFile) ? fs.readFileSync(snapshotFile, 'utf8') : null;
const sql = await diffSql(snapshot, schema);
if (sql.trim() === '' || sql.startsWith('-- This is an empty migration')) {
  console.log('the schema has not changed: no migration written');
} else {
  const id = `${new Date().toISOString().replace(/\D/g, '').slice(0, 14)}_${name.replace(/\W+/g, '_')}`;
  fs.mkdirSync(path.join(folder, id));
  fs.writeFileSync(path.join(folder, id, 'migration.sql'), sql);
  fs.writeFileSync(snapshotFile, schema);
  console.log(`wrote ${id}`);
}
const db = new Database(':memory:');
for (const entry of fs.readdirSync(folder, { withFileTypes: true }).filter((item) => item.isDirectory())) {
  db.exec(fs.readFileSync(path.join(folder, entry.name, 'migration.sql'), 'utf8'));
}
const head =
  '-- Written by scripts/write-migration.mjs. The migration applier drops and recreates these after every migration.\n';
fs.writeFileSync(path.join(root, 'prisma', 'guards.sqlite.sql'), `${head}${guardsFor(db)}\n`);
