import fs from 'node:fs';
import path from 'node:path';
import type { DataFolder } from '../../src/store/data-folder.js';
import type { Engine, EngineOfFolders } from '../../src/store/engine.js';
import { setEnvironment } from './environment.js';
import { asked, type TestDatabase } from './postgresql.js';

/*
 * A run in which each data folder that a suite makes has its rows on a PostgreSQL server (`npm run test:postgresql`). Suites
 * know nothing of it: a fresh folder gets a database of its own, and a copy of a folder a copy of its database.
 */

/** Address of the server of such a run, as the one who may do everything; undefined in any other run. */
const SERVER = 'LOTWRIGHT_TEST_SERVER';

export const isOnServer = process.env.LOTWRIGHT_TEST_ENGINE === 'postgresql';

/** For the whole run, before any suite. @returns what stops it. */
export async function startServerOfRun(): Promise<() => void> {
  const { TestServer } = await import('./postgresql.js');
  const server = await TestServer.start();
  process.env[SERVER] = server.superuser;
  return () => server.remove();
}

/** Suites of a process share the modules that they load. */
const put = new WeakSet<EngineOfFolders>();

/** From now on fresh folders of this process get a database on the server. */
export function putOnServer(engine: EngineOfFolders): void {
  if (put.has(engine)) return;
  put.add(engine);
  const { open } = engine;
  const openOnServer = async (folder: DataFolder): Promise<Engine> => {
    // One that was made before it had a database does not know where that is by now.
    const store = storeOf(folder.path);
    if (fs.existsSync(folder.database) || folder.store !== undefined) return open(folder);
    const { url, owner } = store === undefined ? await newDatabase() : { url: store, owner: undefined };
    const restore = setEnvironment({ LOTWRIGHT_STORE: url, LOTWRIGHT_STORE_OWNER: owner });
    // They are read before its first wait.
    const opening = open(folder);
    restore();
    return opening;
  };
  Object.assign(engine, { open: openOnServer });
}

/** Gives a folder that was copied from another a copy of its database too. */
export async function ownDatabase(folder: string): Promise<void> {
  const store = isOnServer ? storeOf(folder) : undefined;
  if (store === undefined) return;
  const { url } = await newDatabase(new URL(store).pathname.slice(1));
  const file = path.join(folder, 'folder.json');
  fs.writeFileSync(file, JSON.stringify({ ...JSON.parse(fs.readFileSync(file, 'utf8')), store: url }));
}

/** The database of a folder, for whoever may do everything; undefined where it is a file. */
export function superuserOf(folder: string): string | undefined {
  const store = storeOf(folder);
  if (store === undefined) return undefined;
  const address = new URL(store);
  address.username = 'postgres';
  return address.href;
}

function storeOf(folder: string): string | undefined {
  const file = path.join(folder, 'folder.json');
  if (!fs.existsSync(file)) return undefined;
  return (JSON.parse(fs.readFileSync(file, 'utf8')) as { store?: string }).store;
}

/** @param like the database whose copy it is; an empty one otherwise. */
async function newDatabase(like?: string): Promise<Pick<TestDatabase, 'url' | 'owner'>> {
  const server = process.env[SERVER]!;
  const name = `cell_${process.pid}_${Math.random().toString(36).slice(2)}`;
  const from = like === undefined ? `template0 LOCALE 'C' ENCODING 'UTF8'` : `"${like}"`;
  // Nobody else may be on the one that is copied; a program that keeps its connections opens them again.
  if (like !== undefined) {
    await asked(server, `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '${like}'`);
  }
  await asked(server, `CREATE DATABASE "${name}" OWNER owner TEMPLATE ${from}`);
  const as = (role: string) => {
    const address = new URL(server);
    address.username = role;
    address.pathname = `/${name}`;
    return address.href;
  };
  return { url: as('program'), owner: as('owner') };
}
