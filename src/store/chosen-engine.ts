import { AppError } from '../base/errors.js';
import type { DataFolder } from './data-folder.js';
import type { AuditOptions, Engine, EngineOfFolders, Relocated } from './engine.js';
import { auditLedger } from './sqlite/ledger-audit.js';
import { takeServiceLock } from './sqlite/service-lock.js';
import { SqliteEngine } from './sqlite/sqlite-engine.js';

/** The engine of data folders, and the one place that names one: everything else knows the port. */
export const ENGINE: EngineOfFolders = { open, lend, audit: auditLedger, auditFolder, relocate, takeServiceLock };

/** SQLite in the folder, or the server that the folder names; a fresh one takes the server that the surroundings name. */
async function open(folder: DataFolder): Promise<Engine> {
  const { LOTWRIGHT_STORE: given, LOTWRIGHT_STORE_OWNER: owner } = process.env;
  const { store: named } = folder;
  const url = named === undefined && (folder.hasDatabase || given === undefined) ? undefined : (given ?? named);
  // A folder that was never on a server needs neither its driver nor the other client.
  if (url === undefined) return SqliteEngine.open(folder);
  const { isSameDatabase, withoutPassword } = await import('./postgresql/connection.js');
  if (named !== undefined && !isSameDatabase(named, url)) {
    throw new AppError('CONFLICT', `this folder belongs to the database ${named}, and LOTWRIGHT_STORE names another`);
  }
  const { PostgresqlEngine } = await import('./postgresql/postgresql-engine.js');
  const engine = await PostgresqlEngine.open(folder, url, owner);
  if (named === undefined) {
    await refuseUsed(engine, folder);
    folder.with({ store: withoutPassword(url) });
  }
  return engine;
}

/** A fresh folder has keys of its own: it is another installation than the one that the database belongs to. */
async function refuseUsed(engine: Engine, folder: DataFolder): Promise<void> {
  const [left] = await engine.reading.ask(engine.reading.sql.LEDGER_LEFT);
  if (left === undefined || Number(left.size) === 0) return;
  await engine.close();
  throw new AppError(
    'CONFLICT',
    `the database belongs to another installation, and ${folder.path} is a fresh data folder: name the folder of that installation with --data, which its services share, or make an empty database for this one`,
  );
}

/** By folder and address of its database. */
const lent = new Map<string, Promise<Engine>>();

async function lend(folder: DataFolder): Promise<Engine> {
  const { store } = folder;
  if (store === undefined) return open(folder);
  const name = `${folder.path}\n${store}`;
  const engine = lent.get(name) ?? open(folder);
  lent.set(name, engine);
  try {
    return leftOpen(await engine);
  } catch (error) {
    lent.delete(name);
    throw error;
  }
}

/** Does all that an engine does, but for closing it. */
const leftOpen = (engine: Engine): Engine =>
  new Proxy(engine, {
    get: (target, name: keyof Engine) => {
      if (name === 'close') return async () => {};
      const value = target[name];
      return typeof value === 'function' ? value.bind(target) : value;
    },
  });

async function relocate(folder: DataFolder, url: string, owner: string): Promise<Relocated> {
  return (await import('./postgresql/relocate.js')).relocate(folder, url, owner);
}

async function auditFolder(folder: DataFolder, options: AuditOptions = {}) {
  if (folder.store === undefined) return auditLedger(folder.database, options);
  const engine = await open(folder);
  try {
    return await engine.audit(options);
  } finally {
    await engine.close();
  }
}
