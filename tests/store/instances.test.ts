// Not quick: it starts a database server.
import fs from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { clockOfMachine } from '../../src/base/clock.js';
import { ENGINE } from '../../src/store/chosen-engine.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { GENERATION, LAST_MIGRATION } from '../../src/store/generation.js';
import { LEASE_MS, underLease } from '../../src/store/leases.js';
import { anyOf, Remembered, revisionsOf } from '../../src/store/remembered.js';
import type { Store } from '../../src/store/store.js';
import { SharedRates, WINDOW_MS } from '../../src/web/shared-rates.js';
import { temporaryFolder } from '../support/cell.js';
import { asked, type TestDatabase, TestServer } from '../support/postgresql.js';
import { programHold } from '../support/program-hold.js';
import { ACTOR, ENGINES, openOn, stopEngines } from './open-store.js';

let server: TestServer;
beforeAll(async () => {
  server = await TestServer.start();
});
afterAll(() => {
  server.remove();
  stopEngines();
});

const freshFolder = () => path.join(temporaryFolder('instances'), 'data');
const hold = (store: Store) => store.change(ACTOR, ({ events }) => events.add(programHold('L-1')));
/** As if whoever has it had not renewed it for long. */
const runOut = (database: TestDatabase) => asked(database.superuser, `UPDATE "Lease" SET "endsAt" = '2000'`);

it('is raised with each migration, so that no program writes into tables that it does not know', () => {
  for (const engine of ['sqlite', 'postgresql']) {
    const folder = path.resolve('prisma', 'migrations', engine);
    const names = fs.readdirSync(folder).filter((name) => /^\d{14}_/.test(name));
    expect(names).toHaveLength(GENERATION);
    expect(names.sort().at(-1)).toMatch(new RegExp(`^\\d{14}_${LAST_MIGRATION}$`));
  }
});

describe.each(ENGINES)('a lease on %s', (_name, open) => {
  const folder = freshFolder();
  let [one, other]: Store[] = [];
  beforeAll(async () => {
    one = await open(folder);
    other = await open(folder);
  });
  afterAll(async () => {
    await one!.close();
    await other!.close();
  });

  it('is of one at a time, renewed by the clock of the database, and given back', async () => {
    const lease = await one!.leases.take('work');
    expect(await other!.leases.take('work')).toBeUndefined();
    // Nor is it taken twice by whoever has it.
    expect(await one!.leases.take('work')).toBeUndefined();
    const [before] = await other!.leases.live();
    const now = Date.parse(await other!.read.leases.now());
    expect(Date.parse(before!.endsAt)).toBeGreaterThan(now);
    expect(Date.parse(before!.endsAt)).toBeLessThanOrEqual(now + LEASE_MS);
    await one!.change(ACTOR, ({ leases }) => leases.renew(one!.leases.instance, 2 * LEASE_MS));
    expect((await other!.leases.live())[0]!.endsAt > before!.endsAt).toBe(true);
    await lease!.give();
    expect(await other!.leases.live()).toEqual([]);
    expect(await other!.leases.ifFree('work', async () => {})).toBe(true);
    expect(await other!.leases.live()).toEqual([]);
  });

  it('is taken over once when it ran out, and a change of whoever lost it stores nothing', async () => {
    const lease = (await one!.leases.take('again'))!;
    await one!.change(ACTOR, ({ leases }) => leases.renew(one!.leases.instance, -1));
    // Past its end, and nobody took it: it may still store.
    await underLease(lease, () => hold(one!));
    const size = await one!.read.ledger.size();
    await one!.change(ACTOR, ({ leases }) => leases.renew(one!.leases.instance, -1));
    const taken = await Promise.all([1, 2, 3].map(() => other!.leases.take('again')));
    expect(taken.filter((found) => found !== undefined)).toHaveLength(1);
    await expect(underLease(lease, () => hold(one!))).rejects.toMatchObject({
      ...{ code: 'CONFLICT', message: expect.stringContaining('has taken this work over') },
    });
    expect(await other!.read.ledger.size()).toBe(size);
    // It learns so by itself, when it next renews.
    for (let waited = 0; !lease.signal.aborted && waited < 60_000; waited += 100) await sleep(100);
    expect(lease.signal.aborted).toBe(true);
    // What it gives back then is not that of the other.
    await lease.give();
    expect((await other!.leases.live()).map(({ name }) => name)).toEqual(['again']);
  });
});

describe('services on one database', () => {
  it('share it and its data folder; whoever must be alone is refused meanwhile, and after them is not', async () => {
    const database = await server.database();
    const folder = freshFolder();
    const [one, other] = [await openOn(database, folder), await openOn(database, folder)];
    await one.becomeService();
    await other.becomeService();
    expect(await one.instances.living()).toHaveLength(2);
    const command = await openOn(database, folder);
    await expect(command.standAlone()).rejects.toMatchObject({ code: 'BUSY' });
    await one.close();
    await expect(command.standAlone()).rejects.toMatchObject({ code: 'BUSY' });
    await other.close();
    await command.standAlone();
    const late = await openOn(database, folder);
    await expect(late.becomeService()).rejects.toMatchObject({ code: 'BUSY' });
    await late.close();
    await command.close();
    expect(fs.readdirSync(path.join(folder, 'instances'))).toEqual([]);
  });

  it('with a copy of the folder are refused, since each would have files of its own', async () => {
    const database = await server.database();
    const folder = freshFolder();
    const one = await openOn(database, folder);
    await one.becomeService();
    const copy = freshFolder();
    fs.cpSync(folder, copy, { recursive: true });
    fs.rmSync(path.join(copy, 'instances'), { recursive: true });
    const strange = await openOn(database, copy);
    await expect(strange.becomeService()).rejects.toMatchObject({
      ...{ code: 'CONFLICT', message: expect.stringContaining('with another data folder') },
    });
    await strange.close();
    await runOut(database);
    await one.close();
  });

  it('of another installation are refused, and the fresh folder stays free for another database', async () => {
    const database = await server.database();
    const one = await openOn(database, freshFolder());
    const fresh = DataFolder.open(freshFolder());
    const { LOTWRIGHT_STORE: before } = process.env;
    process.env.LOTWRIGHT_STORE = database.url;
    try {
      await expect(ENGINE.open(fresh)).rejects.toMatchObject({
        ...{ code: 'CONFLICT', message: expect.stringContaining('belongs to another installation') },
      });
    } finally {
      if (before === undefined) delete process.env.LOTWRIGHT_STORE;
      else process.env.LOTWRIGHT_STORE = before;
    }
    expect(DataFolder.open(fresh.path).store).toBeUndefined();
    await one.close();
  });

  it('of an older version store nothing any more once a newer one did, and say which is needed', async () => {
    const database = await server.database();
    const store = await openOn(database, freshFolder());
    await hold(store);
    expect(await store.instances.troubles()).toEqual({});
    const size = await store.read.ledger.size();
    // What the first change of a newer program leaves.
    await asked(database.url, `UPDATE "Generation" SET "number" = ${GENERATION + 1}, "version" = '9.1.0'`);
    const message = expect.stringMatching(/newer program.*nothing was stored.*version 9\.1\.0/);
    await expect(hold(store)).rejects.toMatchObject({ code: 'CONFLICT', message });
    expect(await store.instances.troubles()).toMatchObject({ older: expect.stringContaining('version 9.1.0') });
    expect(await store.read.ledger.size()).toBe(size);
    await store.close();
  });

  it('store nothing while the clock of the machine is minutes from that of the database', async () => {
    const database = await server.database();
    const store = await openOn(database, freshFolder());
    const { now } = clockOfMachine;
    try {
      for (const [minutes, says] of [
        [5, 'the clock of this machine is 5 minutes ahead of that of the database'],
        [-5, 'the clock of this machine is 5 minutes behind that of the database'],
      ] as const) {
        clockOfMachine.now = () => new Date(now().getTime() + minutes * 60_000);
        await expect(hold(store)).rejects.toMatchObject({ code: 'CONFLICT', message: expect.stringContaining(says) });
        expect(await store.instances.troubles()).toMatchObject({ skew: expect.stringContaining(says) });
      }
    } finally {
      clockOfMachine.now = now;
    }
    await hold(store);
    await store.close();
  });

  it('remember nothing that another one changed', async () => {
    const database = await server.database();
    const folder = freshFolder();
    const [one, other] = [await openOn(database, folder), await openOn(database, folder)];
    let questions = 0;
    const holds = new Remembered(
      anyOf(revisionsOf('lot'), ({ type }) => type === 'event-recorded'),
      async (read) => {
        questions += 1;
        return (await read.events.of({ kind: 'lot', key: 'L-1' })).length;
      },
    );
    expect([await holds.of(one.read), await holds.of(one.read), questions]).toEqual([0, 0, 1]);
    await hold(other);
    expect([await holds.of(one.read), await holds.of(one.read), questions]).toEqual([1, 1, 2]);
    await one.close();
    await other.close();
  });

  it('count requests of one address together, and keep no address', async () => {
    const database = await server.database();
    const folder = freshFolder();
    const stores = [await openOn(database, folder), await openOn(database, folder)];
    const [one, other] = stores.map((store) => new SharedRates(store));
    const start = 30_000_000 * WINDOW_MS;
    expect(one!.others(start, '192.0.2.7', 80, 100)).toBe(0);
    expect(one!.others(start, '192.0.2.8', 2, 100)).toBe(0);
    other!.others(start, '192.0.2.7', 30, 100);
    await one!.exchange();
    await other!.exchange();
    expect(other!.others(start, '192.0.2.7', 31, 100)).toBe(80);
    expect(other!.others(start, '192.0.2.8', 1, 100)).toBe(0);
    await one!.exchange();
    expect(one!.others(start, '192.0.2.7', 81, 100)).toBe(30);
    expect(JSON.stringify(await asked(database.url, 'SELECT * FROM "Rate"'))).not.toContain('192.0.2');
    // The next minute begins anew.
    expect(one!.others(start + WINDOW_MS, '192.0.2.7', 1, 100)).toBe(0);
    for (const store of stores) await store.close();
  });
});
