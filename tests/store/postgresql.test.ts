// Not quick: it starts a database server.
import fs from 'node:fs';
import path from 'node:path';
import { setTimeout } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { ENGINE } from '../../src/store/chosen-engine.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { connectTo } from '../../src/store/postgresql/connection.js';
import { DriverOver } from '../../src/store/postgresql/driver.js';
import { PostgresqlEngine } from '../../src/store/postgresql/postgresql-engine.js';
import { relocate } from '../../src/store/postgresql/relocate.js';
import type { Store } from '../../src/store/store.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { asked, type TestDatabase, TestServer } from '../support/postgresql.js';
import { programHold } from '../support/program-hold.js';
import { runCommand } from '../support/run-command.js';
import { openServices } from '../support/services.js';
import { fillEveryTable } from './fill.js';
import { ACTOR, openOn } from './open-store.js';

let server: TestServer;
beforeAll(async () => {
  server = await TestServer.start();
});
afterAll(() => server.remove());

const freshFolder = () => path.join(temporaryFolder('postgresql'), 'data');
const opened = async (database: TestDatabase, folder = freshFolder()) => openOn(database, folder);
const hold = (store: Store) => store.change(ACTOR, ({ events }) => events.add(programHold('L-1')));

describe('what is recorded', () => {
  let database: TestDatabase;
  let store: Store;
  const folder = freshFolder();
  beforeAll(async () => {
    database = await server.database();
    store = await opened(database, folder);
    await store.change(ACTOR, fillEveryTable(store.key));
  });
  afterAll(() => store.close());

  const CHANGES = [
    `UPDATE "Revision" SET "body" = '{}'`,
    'DELETE FROM "Result"',
    'TRUNCATE "Event"',
    'TRUNCATE "Entry" CASCADE',
    `INSERT INTO "Part" ("sha256", "ledgerSeq", "mediaType", "body") SELECT "sha256", 1, '', '' FROM "Part"
      ON CONFLICT ("sha256") DO UPDATE SET "body" = ''`,
  ];

  it.each(CHANGES)('is not changed by the role of the program: %s', async (change) => {
    await expect(asked(database.url, change)).rejects.toMatchObject({ code: '42501' });
  });

  it.each(CHANGES)('nor by the role that owns the tables: %s', async (change) => {
    await expect(asked(database.owner, change)).rejects.toThrow(/is append-only: (?:update|delete|truncate) refused/);
  });

  it('is whole by the check, which sees it as of one moment, and clears away what was left of another', async () => {
    fs.mkdirSync(path.join(folder, 'check-left00'));
    expect(await store.verifyLedger()).toMatchObject({ ok: true, faultCount: 0, size: await store.read.ledger.size() });
    expect(fs.readdirSync(folder).filter((name) => name.startsWith('check-'))).toEqual([]);
  });

  it('cannot be changed unseen by whoever may do everything', async () => {
    await asked(
      database.superuser,
      `SET session_replication_role = replica; UPDATE "Result" SET "value" = '1' || "value" WHERE "id" = 1`,
    );
    const report = await store.verifyLedger();
    expect(report).toMatchObject({ ok: false, faultCount: 1 });
    await asked(database.superuser, 'ALTER TABLE "Event" DISABLE TRIGGER "guard_Event_rows"');
    const { faults } = await store.verifyLedger();
    expect(faults[0]).toMatchObject({
      ...{ kind: 'database', key: 'guards' },
      fault: { facts: { faults: [{ what: 'was changed', name: 'guard_Event_rows' }] } },
    });
    await expect(opened(database, folder)).rejects.toMatchObject({ code: 'ALTERED' });
  });
});

describe('a database', () => {
  const open = (url: string, owner?: string) => PostgresqlEngine.open(DataFolder.open(freshFolder()), url, owner);

  it.each<[string, string, (database: TestDatabase) => [string, string | undefined]]>([
    ['without tables, while nobody says who owns them', 'LOTWRIGHT_STORE_OWNER', ({ url }) => [url, undefined]],
    ['by the role that owns its tables', 'owns its tables', ({ owner }) => [owner, owner]],
    ['by a role that may do everything', 'may do everything', ({ superuser, owner }) => [superuser, owner]],
    ['of another name', 'does not let the program in', ({ url }) => [`${url}_not_there`, undefined]],
    [
      'of a role that is not there',
      'does not let the program in',
      ({ url }) => [url.replace('program', 'nobody'), undefined],
    ],
    ['of a server that is not there', 'does not answer', ({ url }) => [url.replace(/:\d+/, ':1'), undefined]],
    ['at no address', 'LOTWRIGHT_STORE', () => ['mysql://x/y', undefined]],
  ])('is refused %s', async (_what, says, addresses) => {
    const [url, owner] = addresses(await server.database());
    await expect(open(url, owner)).rejects.toThrow(says);
  });

  it('is refused where names are in another order', async () => {
    const { url, owner } = await server.database('C.UTF-8');
    await expect(open(url, owner)).rejects.toThrow("LOCALE 'C'");
  });

  it('of another folder is refused: no anchor of this one is of it', async () => {
    const database = await server.database();
    await (await opened(database)).close();
    await expect(opened(database)).rejects.toMatchObject({ code: 'ALTERED' });
  });
});

it('asks as it was measured: without machine code, by plans that are kept, with rows by an index near', async () => {
  const { url } = await server.database();
  for (const readsOnly of [true, false]) {
    const sql = connectTo(url, { most: 1, readsOnly });
    const settings = await sql`
      SELECT current_setting('jit') AS jit, current_setting('plan_cache_mode') AS plans,
        current_setting('random_page_cost') AS place, current_setting('default_transaction_read_only') AS reads`;
    await sql.end();
    expect(settings).toEqual([
      { jit: 'off', plans: 'force_generic_plan', place: '1.1', reads: readsOnly ? 'on' : 'off' },
    ]);
  }
});

it('takes changes of several programs one after the other, without a gap', async () => {
  const database = await server.database();
  const folder = freshFolder();
  const stores = [await opened(database, folder), await opened(database, folder)];
  const before = await stores[0]!.read.ledger.size();
  await Promise.all(stores.flatMap((store) => Array.from({ length: 10 }, () => hold(store))));
  expect(await stores[0]!.verifyLedger()).toMatchObject({ ok: true, size: before + 20 });
  for (const store of stores) await store.close();
});

it('stores nothing of a change in which the connection is lost, says so, and goes on when the server is back', async () => {
  const database = await server.database();
  const store = await opened(database);
  await hold(store);
  const own = connectTo(database.url, { most: 1, readsOnly: true });
  const transaction = await (await new DriverOver(own).connect()).startTransaction();
  const sleep = { sql: 'SELECT pg_sleep(600)::text', args: [], argTypes: [] };
  const askedAtOnce = Promise.allSettled([transaction.queryRaw(sleep), transaction.queryRaw(sleep)]);
  const before = await store.read.ledger.size();
  const lost = store.change(ACTOR, async ({ events }) => {
    await events.add(programHold('L-1'));
    server.stop();
    await events.add(programHold('L-2'));
  });
  await expect(lost).rejects.toMatchObject({ code: 'BUSY', message: expect.stringContaining('does not answer') });
  // Each question of a transaction is ended, not the last alone.
  expect((await askedAtOnce).map(({ status }) => status)).toEqual(['rejected', 'rejected']);
  await transaction.rollback();
  await own.end({ timeout: 0 });
  server.begin();
  await hold(store);
  expect(await store.verifyLedger()).toMatchObject({ ok: true, size: before + 1 });
  await store.close();
});

/** Whether nobody else gets at a database at some time before something ends. */
async function becomesShut(database: string, until: Promise<unknown>): Promise<boolean> {
  let goesOn = true;
  void until.finally(() => {
    goesOn = false;
  });
  while (goesOn) {
    await setTimeout(5);
    if (!fs.existsSync(database)) continue;
    const other = new Database(database, { timeout: 0 });
    try {
      other.prepare('SELECT "head" FROM "LedgerLock"').get();
    } catch (error) {
      if ((error as { code?: string }).code === 'SQLITE_BUSY') return true;
      throw error;
    } finally {
      other.close();
    }
  }
  return false;
}

it('moves a cell to a server in one command, where all of it holds, goes on, and comes back from a backup', async () => {
  const folder = freshFolder();
  const services = await openServices(folder);
  await services.intake.run(writeCell(makeCellWithHistory(1)), 'local:tester');
  const before = (await services.assessor.assess('L-1', 'local:tester')).dossierSha256;
  const size = await services.store.read.ledger.size();
  await services.store.close();

  const { url, owner } = await server.database();
  const move = () => runCommand(folder, ['relocate', '--to', url]);
  expect((await move()).code).toBe(2);
  const database = path.join(folder, 'lotwright.sqlite');
  const other = new Database(database, { timeout: 0 });
  other.exec('BEGIN; SELECT "head" FROM "LedgerLock"');
  await expect(relocate(DataFolder.open(folder), url, owner, 0)).rejects.toMatchObject({ code: 'BUSY' });
  other.close();
  process.env.LOTWRIGHT_STORE_OWNER = owner;
  try {
    const moving = move();
    const isShut = await becomesShut(database, moving);
    const { code, text } = await moving;
    expect(isShut).toBe(true);
    expect([code, text]).toEqual([0, expect.stringContaining(`${size} entries of the audit trail, every row and`)]);
    expect((await move()).code).toBe(2);
  } finally {
    delete process.env.LOTWRIGHT_STORE_OWNER;
  }
  expect(fs.readdirSync(folder).filter((name) => name.includes('sqlite'))).toEqual(['lotwright.sqlite.moved']);

  const moved = await openServices(folder);
  // The same facts, by the other engine, are the same lot file.
  expect((await moved.assessor.assess('L-1', 'local:tester')).dossierSha256).toBe(before);
  expect(await moved.store.read.ledger.size()).toBe(size);
  await hold(moved.store);
  expect(await moved.store.verifyLedger({ files: true })).toMatchObject({ ok: true, size: size + 1 });
  await moved.store.close();
  expect((await runCommand(folder, ['check'])).code).toBe(0);
  expect((await runCommand(folder, ['ledger', 'verify', '--evidence'])).code).toBe(0);

  const backup = path.join(path.dirname(folder), 'cell.zip');
  expect((await runCommand(folder, ['backup', backup])).code).toBe(0);
  const restored = path.join(path.dirname(folder), 'restored');
  expect((await runCommand(restored, ['restore', backup])).code).toBe(0);
  expect(DataFolder.open(restored).store).toBeUndefined();
  expect(await ENGINE.audit(path.join(restored, 'lotwright.sqlite'))).toMatchObject({ ok: true });
});
