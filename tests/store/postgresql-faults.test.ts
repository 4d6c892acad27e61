// Not quick: it starts a database server.
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import postgres from 'postgres';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { columnsOf, recordedTablesIn } from '../../src/store/postgresql/recorded-tables.js';
import type { Store } from '../../src/store/store.js';
import { temporaryFolder } from '../support/cell.js';
import { LossyWay, type LostCommit } from '../support/lossy-way.js';
import { asked, TestServer } from '../support/postgresql.js';
import { programHold } from '../support/program-hold.js';
import { until } from '../support/until.js';
import { fillEveryTable, result } from './fill.js';
import { ACTOR, openOn } from './open-store.js';

const LONG = process.env.LOTWRIGHT_TEST_LONG;

let server: TestServer;
beforeAll(async () => {
  server = await TestServer.start();
});
afterAll(() => server.remove());

const freshFolder = () => path.join(temporaryFolder('postgresql'), 'data');
const hold = (store: Store) => store.change(ACTOR, ({ events }) => events.add(programHold('L-1')));

it.each<[LostCommit, number]>([
  ['on the way', 0],
  ['on the way back', 1],
])('says of a commit that was lost %s that nobody knows, and goes on from what is there', async (lost, stored) => {
  const database = await server.database();
  const way = await LossyWay.to(database.url);
  const store = await openOn({ ...database, url: way.url }, freshFolder());
  await hold(store);
  const before = await store.read.ledger.size();
  way.loses = lost;
  await expect(hold(store)).rejects.toMatchObject({
    ...{ code: 'BUSY', message: expect.stringContaining('look whether it is there before you repeat it') },
  });
  expect(await store.read.ledger.size()).toBe(before + stored);
  await hold(store);
  expect(await store.verifyLedger()).toMatchObject({ ok: true, size: before + stored + 1 });
  await store.close();
  way.close();
});

/** The library forgets what it is asked between the error of a connection and its end. */
it.each(['a change', 'a question'])(
  'leaves %s without answer nowhere, at whatever moment connections break',
  async (what) => {
    const database = await server.database();
    const way = await LossyWay.to(database.url);
    const store = await openOn({ ...database, url: way.url }, freshFolder());
    const ask = what === 'a change' ? () => hold(store) : () => store.read.ledger.size();
    const came = { answered: 0, refused: 0 };
    for (let turns = 0; turns < 12; turns += 1) {
      await ask();
      way.reset();
      for (let turn = 0; turn < turns; turn += 1) await new Promise((resolve) => setImmediate(resolve));
      await ask().then(
        () => {
          came.answered += 1;
        },
        (error: { code: string }) => {
          expect(error.code).toBe('BUSY');
          came.refused += 1;
        },
      );
      // Whoever repeats it is answered in the end.
      await until(async () =>
        ask().then(
          () => true,
          () => false,
        ),
      );
    }
    expect(came.answered + came.refused).toBe(12);
    await store.close();
    way.close();
  },
);

const TRIES_MS = [300, ...Array.from({ length: 14 }, (_, round) => 10 + 7 * round)];

it('waits for a connection where the server has none left, and says so where it cannot begin', async () => {
  const database = await server.database();
  const limit = (most: number) => asked(database.superuser, `ALTER ROLE program CONNECTION LIMIT ${most}`);
  const folder = freshFolder();
  const store = await openOn(database, folder);
  const before = await store.read.ledger.size();
  await limit(0);
  try {
    await expect(openOn(database, folder)).rejects.toMatchObject({
      ...{ code: 'BUSY', message: expect.stringContaining('takes no further connection now') },
    });
    // Its own connections are gone, as when the server was started again: the program learns it when it next uses one.
    // The server has some again at whatever moment of its tries.
    for (const [round, waitMs] of TRIES_MS.entries()) {
      await limit(0);
      await asked(
        database.superuser,
        `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'program'`,
      );
      let isDone = false;
      const waiting = hold(store).then(() => {
        isDone = true;
      });
      await sleep(waitMs);
      expect(isDone).toBe(false);
      await limit(-1);
      await waiting;
      expect(await store.read.ledger.size()).toBe(before + 1 + round);
    }
  } finally {
    await limit(-1);
  }
  await store.close();
});

it('is read and checked by a role that only reads, and takes nothing from it', async () => {
  const database = await server.database();
  const folder = freshFolder();
  const own = await openOn(database, folder);
  await hold(own);
  const size = await own.read.ledger.size();
  await own.close();
  await asked(
    database.superuser,
    `CREATE ROLE reader LOGIN; GRANT USAGE ON SCHEMA public TO reader; GRANT SELECT ON ALL TABLES IN SCHEMA public TO reader`,
  );
  const url = database.url.replace('program', 'reader');
  const store = await openOn({ ...database, url }, folder);
  expect(await store.verifyLedger()).toMatchObject({ ok: true, size });
  expect(await store.read.events.of({ kind: 'lot', key: 'L-1' })).toHaveLength(1);
  await expect(hold(store)).rejects.toMatchObject({
    ...{ code: 'CONFLICT', message: expect.stringContaining('names a role that only reads') },
  });
  expect(await store.read.ledger.size()).toBe(size);
  await store.close();
});

describe('a row of any table that is recorded', () => {
  let store: Store;
  let sql: postgres.Sql;
  let tables: { name: string; columns: { name: string; type: string }[]; seq: number }[];

  beforeAll(async () => {
    const database = await server.database();
    store = await openOn(database, freshFolder());
    await store.change(ACTOR, fillEveryTable(store.key));
    const [first] = await store.read.results.current('L-1');
    const corrected = result({ value: '1.3', reason: 'misread', replacesId: first!.id });
    await store.change(ACTOR, (change) => change.results.add('L-1', 'results/thickness.csv', [corrected]));
    const body = canonicalJson({ format: 1 });
    const parts = ['a', 'b', 'c', 'd'].map((text) => [sha256Hex(text), { mediaType: 'text/plain', text }] as const);
    await store.change(ACTOR, (change) => change.lotFiles.add('L-1', sha256Hex(body), body, new Map(parts)));
    // As for an intruder who may do everything: no trigger runs.
    sql = postgres(database.superuser, {
      max: 1,
      onnotice: () => {},
      connection: { session_replication_role: 'replica' },
    });
    const columns = await columnsOf(sql);
    tables = [];
    for (const { name } of recordedTablesIn(columns)) {
      await sql.unsafe(`CREATE TABLE "_whole_${name}" AS TABLE "${name}"`);
      const [last] = await sql.unsafe(`SELECT max("ledgerSeq")::int AS seq FROM "${name}"`);
      tables.push({ name, columns: columns.filter(({ table }) => table === name), seq: last!.seq });
    }
  });
  afterAll(async () => {
    await sql.end();
    await store.close();
  });

  const another = ({ name, type }: { name: string; type: string }): string =>
    type === 'text' ? `coalesce("${name}", '') || '-altered'` : `coalesce("${name}", 0) + 1000`;

  /** One row of a table, of those that an entry recorded. */
  const oneOf = ({ name, seq }: { name: string; seq: number }): string =>
    `ctid = (SELECT max(ctid) FROM "${name}" WHERE "ledgerSeq" = ${seq})`;

  type Work = (table: (typeof tables)[number]) => string | undefined;

  /** Of each entry the check names one table, so those of one entry are attacked one after the other. */
  async function saidAfter(work: Work) {
    const said: { name: string; said: string }[] = [];
    for (let left = tables; left.length > 0; ) {
      const together = left.filter(({ seq }, place) => left.findIndex((other) => other.seq === seq) === place);
      left = left.filter((table) => !together.includes(table));
      said.push(...(await saidOf(together, work)));
    }
    return said;
  }

  /** What the check says of the entries that recorded rows of these tables, after somebody worked on them. */
  async function saidOf(together: typeof tables, work: Work) {
    const attacked = together.flatMap((table) => {
      const statement = work(table);
      return statement === undefined ? [] : [{ ...table, statement }];
    });
    for (const { name, statement } of attacked) expect([name, (await sql.unsafe(statement)).count]).toEqual([name, 1]);
    const { faults } = await store.verifyLedger();
    for (const { name } of attacked) {
      await sql.unsafe(`DELETE FROM "${name}"`);
      await sql.unsafe(`INSERT INTO "${name}" TABLE "_whole_${name}"`);
    }
    return attacked.map(({ name, seq }) => ({
      name,
      said: faults.flatMap((fault) => (fault.seq === seq ? [storedFaultText(fault.fault)] : [])).join('; '),
    }));
  }

  it('is the same however the server keeps it', async () => {
    for (const order of ['DESC', 'ASC']) {
      for (const { name } of tables) {
        await sql.unsafe(`DELETE FROM "${name}"`);
        await sql.unsafe(`INSERT INTO "${name}" SELECT * FROM "_whole_${name}" ORDER BY ctid ${order}`);
      }
      expect(await store.verifyLedger()).toMatchObject({ ok: true, faultCount: 0 });
    }
  });

  const rounds = () => Math.max(...tables.map(({ columns }) => columns.length));

  it('is named with its table where a column was changed', async () => {
    for (let round = LONG ? 0 : 1; round < (LONG ? rounds() : 2); round += 1) {
      const changed = await saidAfter((table) => {
        const column = table.columns[round];
        return column && `UPDATE "${table.name}" SET "${column.name}" = ${another(column)} WHERE ${oneOf(table)}`;
      });
      for (const { name, said } of changed) {
        expect([round, name, said]).toEqual([round, name, expect.stringMatching(` in ${name}(?: |,)`)]);
      }
    }
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
  });

  it('is named with its table where it was removed, and where one was added', async () => {
    const removed = await saidAfter((table) => `DELETE FROM "${table.name}" WHERE ${oneOf(table)}`);
    for (const { name, said } of removed) {
      expect([name, said]).toEqual([name, expect.stringMatching(` in ${name} is gone|there are .* in ${name}`)]);
    }
    const added = await saidAfter(({ name, columns, seq }) => {
      const names = columns.map((column) => `"${column.name}"`).join(', ');
      const values = columns.map((column) => (column.name === 'ledgerSeq' ? String(seq) : another(column)));
      return `INSERT INTO "${name}" (${names}) SELECT ${values.join(', ')} FROM "${name}" WHERE ${oneOf({ name, seq })}`;
    });
    for (const { name, said } of added) {
      expect([name, said]).toEqual([name, expect.stringMatching(`there are .* rows in ${name}, and .* recorded`)]);
    }
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
  });
});
