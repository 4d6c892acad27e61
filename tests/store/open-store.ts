import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { DataFolder } from '../../src/store/data-folder.js';
import { PostgresqlEngine } from '../../src/store/postgresql/postgresql-engine.js';
import { Store } from '../../src/store/store.js';
import { makeFreshFolder } from '../support/fresh-folder.js';
import { type TestDatabase, TestServer } from '../support/postgresql.js';

export const ACTOR = 'local:test';

/** A fresh folder of its own for one test file; `remove` clears it away. */
export function temporaryFolder(): { folder: string; remove: () => void } {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-test-'));
  return { folder, remove: () => fs.rmSync(folder, { recursive: true, force: true }) };
}

/** @param folder one that is absent or empty becomes a fresh data folder. */
export async function openStore(folder: string): Promise<Store> {
  await makeFreshFolder(folder);
  return Store.open(DataFolder.open(folder));
}

/** The same on a database of a server. */
export async function openOn({ url, owner }: TestDatabase, folder: string): Promise<Store> {
  const data = DataFolder.open(folder);
  return Store.open(data, await PostgresqlEngine.open(data, url, owner));
}

let server: TestServer | undefined;
/** By the folder of a store, which opens its own again. */
const databases = new Map<string, TestDatabase>();

/** The server of a suite that opens stores on it, started by the first. */
async function openOnServer(folder: string): Promise<Store> {
  server ??= await TestServer.start();
  const database = databases.get(folder) ?? (await server.database());
  databases.set(folder, database);
  return openOn(database, folder);
}

/** Where the database of a folder is, that `ENGINES` opened on a server. */
export const databaseOf = (folder: string): TestDatabase | undefined => databases.get(folder);

/** Every engine, by how a store is opened on a folder with it. A further one is a line more. */
export const ENGINES: readonly (readonly [name: 'SQLite' | 'PostgreSQL', open: (folder: string) => Promise<Store>])[] =
  [
    ['SQLite', openStore],
    ['PostgreSQL', openOnServer],
  ];

/** For the end of a suite that goes through `ENGINES`. */
export function stopEngines(): void {
  server?.remove();
  server = undefined;
}
