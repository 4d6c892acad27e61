import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { explained } from '../../src/base/disk-trouble.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { ENGINE } from '../../src/store/chosen-engine.js';
import { DataFolder } from '../../src/store/data-folder.js';
import type { Engine } from '../../src/store/engine.js';
import { Store } from '../../src/store/store.js';
import { programHold } from '../support/program-hold.js';
import { copyOfTemplate } from '../support/template.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

/**
 * The ways to lose a database that SQLite itself describes ("How To Corrupt An SQLite Database File", sqlite.org/howtocorrupt.html,
 * by its numbers, cited from memory), as far as files can show them. What a disk loses by itself is tried in `tests/faults`.
 */

let folder: string;
let remove: () => void;
beforeEach(async () => {
  ({ folder, remove } = temporaryFolder());
  await copyOfTemplate('to-corrupt', make, folder);
});
afterEach(() => remove());

const change = (store: Store) => store.change(ACTOR, (one) => one.events.add(programHold()));

async function make(to: string): Promise<void> {
  const store = await openStore(to);
  for (let left = 3; left > 0; left -= 1) await change(store);
  await store.close();
}

const file = () => DataFolder.open(folder).database;
const open = () => Store.open(DataFolder.open(folder));

/** What the audit names; nothing where all is as it was left. */
async function named(): Promise<string> {
  try {
    const { faults } = await ENGINE.audit(file(), { anchor: AnchorFile.beside(folder) });
    return faults.map(({ kind, key, fault }) => `${kind} ${key}: ${storedFaultText(fault)}`).join('\n');
  } catch (error) {
    return (error as Error).message;
  }
}

/** The files of a database while it is in use, with a change that stands in the journal alone. */
async function inUse(): Promise<{ database: Buffer; journal: Buffer; store: Store }> {
  const store = await open();
  await change(store);
  return { database: fs.readFileSync(file()), journal: fs.readFileSync(`${file()}-wal`), store };
}

/** As if the machine had stopped: these files are left, and nothing else. */
function leave(database: Buffer, journal: Buffer | undefined): void {
  fs.writeFileSync(file(), database);
  fs.rmSync(`${file()}-shm`, { force: true });
  fs.rmSync(`${file()}-wal`, { force: true });
  if (journal) fs.writeFileSync(`${file()}-wal`, journal);
}

it('1.2: a copy that was made during a change, without its journal, is known by the anchor', async () => {
  const { database, store } = await inUse();
  await store.close();
  leave(database, undefined);
  await expect(open()).rejects.toMatchObject({ code: 'ALTERED', message: expect.stringMatching(/anchor covers/) });
  expect(await named()).toMatch(/entries were cut off/);
});

it('1.2: the copy of the program holds the change, whatever is in the journal', async () => {
  const { store } = await inUse();
  const copy = path.join(folder, 'copy.sqlite');
  await store.copyDatabase(copy);
  const size = await store.read.ledger.size();
  await store.close();
  const sql = new Database(copy, { readonly: true });
  expect(sql.prepare('SELECT count(*) FROM "LedgerEntry"').pluck().get()).toBe(size);
  sql.close();
});

it('1.3: a journal is what brings a change back after a sudden end; one that was deleted is missed', async () => {
  const { database, journal, store } = await inUse();
  await store.close();
  leave(database, journal);
  await (await open()).close();
  expect(await named()).toBe('');
  leave(database, undefined);
  await expect(open()).rejects.toMatchObject({ code: 'ALTERED' });
});

it('1.4: the journal of another database is not taken for its own', async () => {
  const { database, store } = await inUse();
  await store.close();
  const other = temporaryFolder();
  const strange = await openStore(other.folder);
  await change(strange);
  const journal = fs.readFileSync(`${DataFolder.open(other.folder).database}-wal`);
  await strange.close();
  other.remove();
  leave(database, journal);
  await expect(open()).rejects.toMatchObject({ code: 'ALTERED' });
});

it('2.5: a database that was renamed while it was in use is missed by the next program, and never made anew', async () => {
  const { store } = await inUse();
  fs.renameSync(file(), `${file()}.old`);
  await expect(open()).rejects.toMatchObject({
    code: 'ALTERED',
    message: expect.stringMatching(/is missing, and the anchor/),
  });
  expect(await named()).toMatch(/is missing, and the anchor says that it was there/);
  expect(fs.existsSync(file())).toBe(false);
  fs.renameSync(`${file()}.old`, file());
  await store.close();
  expect(await named()).toBe('');
});

it('2.6: what was written under another name of the same file has no entry behind it', async () => {
  const also = path.join(path.dirname(folder), `${path.basename(folder)}-also.sqlite`);
  fs.linkSync(file(), also);
  const sql = new Database(also);
  for (const name of sql.prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'").pluck().all()) {
    sql.exec(`DROP TRIGGER "${name as string}"`);
  }
  sql.prepare(`UPDATE "Event" SET reason = 'other' WHERE type = 'hold-placed'`).run();
  sql.close();
  fs.rmSync(also);
  expect(await named()).toMatch(/its row in Event is not as it was recorded/);
});

it('3.2: each change waits for the disk', async () => {
  const store = await open();
  const { engine } = store as unknown as { engine: Engine };
  expect(await engine.transaction((db) => db.ask('PRAGMA synchronous'))).toEqual([{ synchronous: 2 }]);
  await store.close();
});

it.each<[string, (bytes: Buffer) => Buffer]>([
  ['the head of the file', (bytes) => Buffer.concat([Buffer.alloc(100), bytes.subarray(100)])],
  ['the size of its pages', (bytes) => Buffer.concat([bytes.subarray(0, 16), Buffer.from([2, 0]), bytes.subarray(18)])],
  ['its first page', (bytes) => Buffer.concat([Buffer.alloc(4096, 0x5a), bytes.subarray(4096)])],
  ['its second half', (bytes) => bytes.subarray(0, bytes.length >> 1)],
  ['all of it', () => Buffer.alloc(0)],
])('1.1 and 4: a file that was written over, or cut, is refused in words: %s', async (_, spoil) => {
  fs.writeFileSync(file(), spoil(fs.readFileSync(file())));
  expect(await named()).not.toBe('');
  const why = await open().then(() => undefined, explained);
  expect(why).toMatchObject({ code: 'ALTERED', message: expect.stringMatching(/damaged|anchor/) });
});

it('7: a table of the schema that was written by hand is named', async () => {
  const sql = new Database(file());
  sql.unsafeMode(true);
  sql.pragma('writable_schema = ON');
  sql.prepare(`UPDATE sqlite_master SET sql = replace(sql, 'TEXT NOT NULL', 'TEXT') WHERE name = 'Event'`).run();
  sql.close();
  expect(await named()).toMatch(/database/);
});
