import path from 'node:path';
import Database from 'better-sqlite3';
import { DataFolder } from '../../src/store/data-folder.js';
import { DraftRows, HANDED_SHEET } from '../../src/store/draft-rows.js';
import { Connection } from '../../src/store/sqlite/connection.js';
import { loadDatabaseClient, SqliteEngine } from '../../src/store/sqlite/sqlite-engine.js';
import { temporaryFolder } from './open-store.js';

const load = vi.fn(loadDatabaseClient);

let folder: string;
let remove: () => void;
let engine: SqliteEngine;
beforeEach(() => {
  ({ folder, remove } = temporaryFolder());
  engine = SqliteEngine.open(DataFolder.open(folder), load);
});
afterEach(async () => {
  vi.restoreAllMocks();
  load.mockReset();
  load.mockImplementation(loadDatabaseClient);
  await engine.close();
  remove();
});

it('tells of forms under way without the database client, which takes a command as long as all else it does', async () => {
  const drafts = new DraftRows(engine.reading);
  const row = { person: 'P-PE', kind: 'receipt', fields: '{}' };
  const rows = [
    { ...row, name: 'b'.repeat(22), changedAt: '2031-03-04T08:15:00.000Z' },
    { ...row, name: 'a'.repeat(22), changedAt: '2031-03-04T09:15:00.000Z' },
    { ...row, name: 'c'.repeat(22), changedAt: '2031-03-04T07:15:00.000Z', kind: HANDED_SHEET },
    { ...row, name: 'd'.repeat(22), changedAt: '2031-03-04T06:15:00.000Z', kind: HANDED_SHEET },
  ];
  await engine.transaction(async (db) => {
    const client = await db.client();
    await client.draft.createMany({ data: rows });
    const files = ['b.txt', 'a.txt'].map((name) => ({ draft: rows[0]!.name, name, bytes: new Uint8Array(1) }));
    await client.draftFile.createMany({ data: files });
  });
  load.mockClear();
  expect(await drafts.ofPerson('P-PE')).toEqual([rows[1], rows[0]]);
  expect(await drafts.ofPerson('P-QE')).toEqual([]);
  expect(await drafts.ofKind(HANDED_SHEET)).toEqual([rows[3], rows[2]]);
  expect(await drafts.byName(rows[0]!.name)).toEqual(rows[0]);
  expect(await drafts.byName('none')).toBeNull();
  expect(await drafts.fileNames(rows[0]!.name)).toEqual(['a.txt', 'b.txt']);
  expect(load).not.toHaveBeenCalled();
});

const FORM = { session: 'session', number: 'n'.repeat(22), sentAt: '2026-11-30T12:00:00.000Z', result: null };
const OVER = 'inside a change that is over';

describe('a change that is over', () => {
  it('refuses what the database client was asked in it and had not yet done, also while the next one is open', async () => {
    const stray: Promise<unknown>[] = [];
    const given = engine.transaction(async (db) => {
      const client = await db.client();
      stray.push(client.sentForm.create({ data: FORM }).then(() => 'stored'));
      stray[0]!.catch(() => undefined);
      throw new Error('given up');
    });
    await expect(given).rejects.toThrow('given up');
    await engine.transaction(async (db) => {
      await expect(stray[0]).rejects.toThrow(OVER);
      expect(await (await db.client()).sentForm.count()).toBe(0);
    });
    expect(await (await engine.reading.client()).sentForm.count()).toBe(0);
  });

  // SQLite ends the transaction by itself at SQLITE_FULL (sqlite.org, "Response To Errors Within A Transaction").
  it('stores nothing more once a full disk ended it', async () => {
    const database = new Database(path.join(folder, 'small.sqlite'));
    try {
      database.exec('CREATE TABLE "Text" ("text" TEXT)');
      database.pragma(`max_page_count = ${database.pragma('page_count', { simple: true })}`);
      const change = new Connection(database).transaction(async (own) => {
        const large = own.tell('INSERT INTO "Text" VALUES (?)', ['x'.repeat(100_000)]);
        await expect(large).rejects.toMatchObject({ code: 'SQLITE_FULL' });
        await own.tell('INSERT INTO "Text" VALUES (?)', ['small']);
      });
      await expect(change).rejects.toThrow(OVER);
      expect(database.prepare('SELECT * FROM "Text"').all()).toEqual([]);
    } finally {
      database.close();
    }
  });
});

describe('the writing connection', () => {
  it('is closed again where it could not be set up', async () => {
    const opened: Database.Database[] = [];
    vi.spyOn(Database.prototype, 'pragma').mockImplementation(function (this: Database.Database) {
      opened.push(this);
      throw new Error('the disk is away');
    });
    const work = vi.fn();
    await expect((async () => engine.transaction(work))()).rejects.toThrow('the disk is away');
    expect([opened.length, opened[0]!.open, work.mock.calls.length]).toEqual([1, false, 0]);
  });

  it('loads the database client anew after it could not, and closes all the same', async () => {
    load.mockRejectedValueOnce(new Error('no such file'));
    const count = () => engine.transaction(async (db) => (await db.client()).sentForm.count());
    await expect(count()).rejects.toThrow('no such file');
    expect(await count()).toBe(0);
  });

  it('closes everything, also where the database client could not be loaded', async () => {
    load.mockRejectedValue(new Error('no such file'));
    const other = SqliteEngine.open(DataFolder.open(folder), load);
    other.becomeService();
    await other.close();
    // The mark of the one service is gone: another can take it.
    expect(() => engine.becomeService()).not.toThrow();
  });

  it('has its client loaded by a service before anybody asks for it', () => {
    engine.becomeService();
    return vi.waitFor(() => expect(load).toHaveBeenCalledTimes(1));
  });
});

it('waits for the disk at every commit, but for a demo in the process that plays it', async () => {
  const synchronous = async (data: DataFolder) => {
    const opened = SqliteEngine.open(data);
    try {
      const [row] = await opened.transaction((db) => db.ask('PRAGMA synchronous'));
      return (row as { synchronous: number }).synchronous;
    } finally {
      await opened.close();
    }
  };
  const demo = path.join(folder, 'demo');
  const [normal, full] = [1, 2];
  expect(await synchronous(DataFolder.createDemo(demo, '2031-01-20T12:00:00Z'))).toBe(normal);
  expect(await synchronous(DataFolder.open(demo))).toBe(full);
});
